"""Requests that nobody's page sends, drawn by hypothesis from the routes, pages and forms that there are."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import quote_from_bytes, urlencode

from hypothesis import strategies as st
from raw_requests import Asked
from starlette.routing import Route

from sortiewright import desk as desk_room

SCRIPT = "<script>alert(1)</script>"
STRANGE = [
    "", " ", "\x00", "a" * 5000, "-1", "0", "1", "9" * 30, "1e308", "-1e308", "1e999", "nan", "inf", "-0",
    "0.1", "1_000", "0x10", "1\u0662", "½", "½", "²", "\u0661", "true", "null", "~", "ON", "[]", "{}",
    "[" * 500, "*anchor", "&anchor", "!!python/object:os.system", "a: b", "- x", "#", "? x", "%", "---",
    "\t", "\n", "\r\nSet-Cookie: sortiewright_session=x", "\u2028", "\ufeff", "\u202eabc", "\U0001f6e9",
    "é" * 300, "\ud800", "../../etc/passwd", "..\\..\\windows\\win.ini", "/etc/passwd", "C:\\",
    "\\\\host\\share", "file:///etc/passwd", "%2e%2e%2f", "CON", ".", "..", "x.yaml", "~root", SCRIPT,
    "'\"><img src=x onerror=1>",
    "{{7*7}}", "{% raw %}", "${7*7}", "'; DROP TABLE x; --", "$(id)", "`id`", "|id", "__class__",
    "__proto__", "constructor", "/load/tanks/main", "/aerodrome/runways/0/designator", "/weather", "/" * 20,
    "/route/legs/0", "/route/legs/999/to", "/~0~1~2", "answer:taxi:brakes:1:front", "open:taxi:::front",
    "undo::x::front", "note::::rear:x", "answer:taxi:brakes:²:front", ":::::", "front", "rear", "yes", "on",
    "METAR XXXX 010000Z 00000KT 9999 Q1013", "8600 lb", "1 kg", "-5 ft", "1e300 kg", "26", "1,5", "N57 W004",
]  # fmt: skip
TYPES = [
    "application/x-www-form-urlencoded",
    "application/x-www-form-urlencoded; charset=utf-16",
    "multipart/form-data; boundary=x",
    "multipart/form-data; boundary=x; charset=unicode_escape",
    "multipart/form-data; boundary=x; charset=undefined",
    "multipart/form-data; boundary=x; charset=idna",
    "multipart/form-data; boundary=x; charset=hex",
    "multipart/form-data; boundary=x; charset=utf-16",
    "multipart/form-data; boundary=x; charset=\x00",
    "multipart/form-data",
    "multipart/form-data; boundary=",
    "application/json",
    "text/plain",
    "",
    ";;;=",
]
HEADERS = {
    "hx-request": ["true", "", "\xff"],
    "accept": ["application/json", "*/*", "text/event-stream", "\xff", ""],
    "last-event-id": ["0", "x-1", "-", "9" * 40, "aaaaaaaa-²"],
    "referer": ["http://127.0.0.1:4711/numbers", "http://evil.example/x", "//evil", "http://[", "\xff", "a:b",
                "http://127.0.0.1:4711//evil.example/", "http://127.0.0.1:4711/\\evil.example",
                "http://127.0.0.1:4711/x?y=\xe9"],
    "range": ["bytes=0-", "bytes=-1", "bytes=9-1", "bytes=0-0,0-0,0-0", "bytes=x", "rows=1-", "bytes=-0",
              "bytes=" + "0-1," * 300, "bytes=99999999999999999999-"],
    "if-range": ["x", "Wed, 21 Oct 2015 07:28:00 GMT"],
    "if-none-match": ["*", '"x"'],
    "content-length": ["-1", "x", "0", "5", "9" * 30, "1e3", "+5", ""],
    "transfer-encoding": ["chunked", "gzip", "x"],
    "expect": ["100-continue", "x"],
    "x-forwarded-for": ["127.0.0.1"],
    "x-forwarded-host": ["evil.example"],
    "x-http-method-override": ["DELETE"],
    "cookie": ["sortiewright_scheme=night", "sortiewright_units=si", "sortiewright_both_seats=yes",
               "sortiewright_scheme=\xff; sortiewright_units=\x00", "a" * 4000, ";;;=;", "=",
               'sortiewright_session="; sortiewright_session=x"'],
}  # fmt: skip
METHODS = ["GET", "POST", "HEAD", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "get", "X" * 50]
FIELD = re.compile(
    r"(?:query_params|form|query)\.get(?:list)?\(\s*\"([\w-]+)\"|(?:text|number)_in\(form, \"(\w+)\""
)
WRITES_TO = "folder"
"""The field by which an owner names a folder to write into: never one of this machine's own."""


def routes_of(app):
    """Return every route: its path as it is declared, and the methods it takes."""
    listed = [one for one in app.routes if isinstance(one, Route)]
    behind = app.state.parts._router.routes
    return [(one.path, sorted(one.methods)) for one in (*listed, *behind)]


def field_names():
    """Return the names that the desk's own code asks forms and addresses for."""
    texts = [one.read_text("utf-8") for one in Path(desk_room.__file__).parent.glob("*.py")]
    return sorted({one or other for text in texts for one, other in FIELD.findall(text)})


class Forms(HTMLParser):
    """Reads a page's links and its forms: action, method and what their fields hold."""

    def __init__(self):
        super().__init__()
        self.links, self.forms, self._open = set(), [], None

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        for name in ("href", "src", "hx-get", "action", "hx-post"):
            if (given.get(name) or "").startswith("/"):
                self.links.add(given[name].partition("#")[0])
        if tag == "form":
            self._open = (given.get("action") or given.get("hx-post") or "", given.get("method", "get"), [])
            self.forms.append(self._open)
        elif self._open and given.get("name") and tag in ("input", "button", "select", "textarea"):
            self._open[2].append((given["name"], given.get("value") or ""))

    def handle_endtag(self, tag):
        if tag == "form":
            self._open = None


def text_of(value):
    """Return a text as bytes, half a character too, as a form may hold it."""
    return value.encode("utf-8", "surrogatepass")


values = st.sampled_from(STRANGE) | st.text(max_size=20) | st.integers(-10, 1 << 70).map(str)


def safe(name, value, sandbox):
    """Return a value for a field; a folder to be written to is always the test's own."""
    looks_real = value.strip()[:1] in ("/", "~") or ":" in value[:3]
    return str(sandbox) if name == WRITES_TO and looks_real and "etc/passwd" not in value else value


def encoded(pairs, kind):
    """Return fields as the body of a form of a content type."""
    if kind.startswith("multipart"):
        parts = [
            b'--x\r\nContent-Disposition: form-data; name="%s"\r\n\r\n%s\r\n'
            % (text_of(name), text_of(value))
            for name, value in pairs
        ]
        return b"".join(parts) + b"--x--\r\n"
    return urlencode([(text_of(name), text_of(value)) for name, value in pairs]).encode()


class Drawer:
    """Draws requests to one desk: ``pages`` are what its pages link to, ``forms`` what they hold."""

    def __init__(self, app, pages, forms, sandbox):
        self.routes, self.fields = routes_of(app), field_names()
        self.pages, self.forms, self.sandbox = sorted(pages), forms, sandbox

    @st.composite
    @staticmethod
    def request(draw, self):
        """Draw a request without what says who asks."""
        sort = draw(st.sampled_from(["form", "form", "route", "page"]))
        if sort == "form":
            path, method, pairs = draw(st.sampled_from(self.forms))
            pairs = self._changed(draw, pairs)
        elif sort == "page":
            path, method, pairs = draw(st.sampled_from(self.pages)), "GET", self._drawn(draw)
        else:
            pattern, methods = draw(st.sampled_from(self.routes))
            path = re.sub(r"\{[^}]*\}", lambda found: self._part(draw, found[0]), pattern)
            method, pairs = draw(st.sampled_from(methods)), self._drawn(draw)
        if draw(st.integers(0, 9)) == 0:
            method = draw(st.sampled_from(METHODS))
        names = draw(st.lists(st.sampled_from(sorted(HEADERS)), max_size=3))
        headers = [(name, draw(st.sampled_from(HEADERS[name]))) for name in names]
        if method.upper() in ("GET", "HEAD"):
            query = urlencode([(text_of(name), text_of(value)) for name, value in pairs])
            return Asked(method, self._target(path, query), _raw(headers))
        kind = draw(st.sampled_from(TYPES[:1] * 12 + TYPES))
        body = encoded(pairs, kind)
        if draw(st.integers(0, 7)) == 0:
            body = draw(st.binary(max_size=200) | st.just(body[: len(body) // 2]) | st.just(b"&=" * 3000))
        cut = draw(st.integers(0, len(body)))
        return Asked(method, self._target(path, ""), _raw([("content-type", kind), *headers]),
                     (body[:cut], body[cut:]))  # fmt: skip

    def _target(self, path, query):
        joined = f"{path}{'&' if '?' in path else '?'}{query}" if query else path
        return quote_from_bytes(text_of(joined), "/?&=%:,.~-_+;").encode()

    def _part(self, draw, name):
        if ":int" in name and draw(st.booleans()):
            return str(draw(st.integers(0, 1 << 70)))
        return quote_from_bytes(text_of(draw(values)), "").replace(".", "%2E") or "x"

    def _drawn(self, draw):
        names = draw(st.lists(st.sampled_from(self.fields) | values, max_size=5))
        return [(name, safe(name, draw(values), self.sandbox)) for name in names]

    def _changed(self, draw, pairs):
        """Return a form's fields with one thing or two that its page would not send."""
        changed = list(pairs)
        for _ in range(draw(st.integers(0, 2))):
            act = draw(st.sampled_from(["put", "put", "put", "leave", "again", "add"]))
            if act == "add" or not changed:
                name = draw(st.sampled_from(self.fields))
                changed.append((name, safe(name, draw(values), self.sandbox)))
                continue
            at = draw(st.integers(0, len(changed) - 1))
            name, value = changed[at]
            if act == "leave":
                del changed[at]
            elif act == "again":
                changed.append((name, value))
            else:
                changed[at] = name, safe(name, draw(values), self.sandbox)
        return [(name, safe(name, value, self.sandbox)) for name, value in changed]


def _raw(headers):
    return tuple((name.encode(), value.encode("latin-1", "replace")) for name, value in headers)
