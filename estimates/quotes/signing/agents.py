"""The kind of device a request came from, coarse on purpose: ``Safari on iPhone``, and no version."""

from __future__ import annotations

# The first that is found counts: browsers name each other, so the particular comes before the common.
_BROWSERS = (
    ("Edg", "Edge"),
    ("OPR", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)
_SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "Mac"),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
)


def coarse_agent(user_agent: str) -> str:
    """Return browser and system as two words out of fixed lists; what is unknown is called so."""
    browser = next((name for sign, name in _BROWSERS if sign in user_agent), "another browser")
    system = next((name for sign, name in _SYSTEMS if sign in user_agent), "another system")
    return f"{browser}, {system}"
