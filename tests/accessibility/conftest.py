"""axe-core, the reference checker of web accessibility, run inside the pages of the live server.

``axe/axe.min.js`` is axe-core 4.14.1, unchanged, under the Mozilla Public License 2.0 (``axe/LICENCE.txt``).
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Page

AXE = Path(__file__).parent / "axe" / "axe.min.js"
# WCAG 2.2 A and AA, and what the checker's authors call good practice (order of headings, landmarks).
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def findings(page: "Page") -> list[dict[str, Any]]:
    """Return axe's violations on the page as it stands, with everything that folds opened."""
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    # Given as text, since the pages' own policy refuses scripts from elsewhere.
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate(
        "tags => axe.run(document, {runOnly: tags, resultTypes: ['violations']}).then(r => r.violations)",
        TAGS,
    )
    return list(found)


def sentences(page: "Page") -> list[str]:
    """Return what axe finds as lines: impact, rule, and the first elements concerned."""
    return [
        f"{one['impact']} {one['id']} ×{len(one['nodes'])}: {one['nodes'][0]['html'][:140]}"
        f" | {' '.join(one['nodes'][0].get('failureSummary', '').split())[:200]}"
        for one in findings(page)
    ]
