"""A browser without a window: it keeps cookies, reads forms and sends them, over HTTP alone."""

import http.client
import re
from html import unescape
from html.parser import HTMLParser
from http.cookies import SimpleCookie
from urllib.parse import urlencode, urlsplit


class Visitor:
    """A browser without a window: it keeps cookies, sends the form token, and follows where it is sent.

    It speaks as a proxy in front of the web server does: plain HTTP with the note that outside it was TLS.
    """

    def __init__(self, port: int) -> None:
        self.port = port
        self.cookies: dict[str, str] = {}
        self.address = "/"
        self.text = ""
        self.body = b""
        self.headers: dict[str, str] = {}

    def get(self, address: str) -> "Visitor":
        return self._ask("GET", address)

    def post(self, address: str, **fields: str) -> "Visitor":
        """Send *fields* alone, with the token of the page that is open."""
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', self.text)
        if token:
            fields["csrfmiddlewaretoken"] = token[1]
        return self._ask("POST", address, urlencode(fields))

    def fill(self, address: str = "", **typed: str) -> "Visitor":
        """Send the open page's main form as it stands, with *typed* over it; a button is a field too.

        The main form is the one with the most fields. Without *address* it goes where the page is.
        """
        forms = _Forms()
        forms.feed(self.text)
        main = max(forms.found, key=len, default=[])
        kept = [(name, value) for name, value in main if name not in typed]
        return self._ask("POST", address or self.address, urlencode([*kept, *typed.items()]))

    def link(self, pattern: str) -> str:
        """Return the first address on the open page that matches *pattern*."""
        for found in re.findall(r'(?:href|action|hx-get)="([^"]+)"', self.text):
            if re.search(pattern, found):
                return unescape(str(found))
        raise LookupError(f"No link like {pattern} at {self.address}:\n{self.text[:3000]}")

    def _ask(self, method: str, address: str, body: str | None = None, jumps: int = 5) -> "Visitor":
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        headers = {
            "Host": "localhost",
            "X-Forwarded-Proto": "https",
            "Referer": "https://localhost/",
            "Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()),
        }
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection.request(method, address, body, headers)
        answer = connection.getresponse()
        self.body, self.address, self.headers = answer.read(), address, dict(answer.getheaders())
        for line in answer.headers.get_all("Set-Cookie", []):
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(line).items()}
        connection.close()
        if answer.status in {301, 302} and jumps:
            to = urlsplit(self.headers["Location"])
            return self._ask("GET", to.path + (f"?{to.query}" if to.query else ""), jumps=jumps - 1)
        if answer.status >= 400:
            raise RuntimeError(f"{method} {address} gave {answer.status}: {self.body[:2000]!r}")
        self.text = self.body.decode(errors="replace")
        return self


class _Forms(HTMLParser):
    """Reads what a browser would send of each form on a page; *found* holds a list of pairs a form.

    Fields may stand outside their form and name it, so a page with one form of data keeps them together.
    """

    def __init__(self) -> None:
        super().__init__()
        self.found: list[list[tuple[str, str]]] = []
        self.select = ""
        self.options: list[tuple[str, bool]] = []
        self.textarea: list[str] | None = None

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attributes}
        if tag == "form":
            self.found.append([])
        elif not self.found:
            return
        elif tag == "input" and given.get("name"):
            kind = given.get("type", "text")
            if kind in {"checkbox", "radio"}:
                if "checked" in given:
                    self._add(given["name"], given.get("value", "on"))
            elif kind not in {"submit", "button", "file", "image"}:
                self._add(given["name"], given.get("value", ""))
        elif tag == "select":
            self.select, self.options = given.get("name", ""), []
        elif tag == "option":
            self.options.append((given.get("value", ""), "selected" in given))
        elif tag == "textarea":
            self.textarea = [given.get("name", "")]

    def handle_data(self, data: str) -> None:
        if self.textarea is not None:
            self.textarea.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "select" and self.select and self.options:
            chosen = [value for value, is_selected in self.options if is_selected]
            self._add(self.select, chosen[0] if chosen else self.options[0][0])
        elif tag == "textarea" and self.textarea is not None:
            # A browser leaves the first line break after the tag out.
            self._add(self.textarea[0], "".join(self.textarea[1:]).removeprefix("\n"))
            self.textarea = None

    def _add(self, name: str, value: str) -> None:
        self.found[-1].append((name, value))
