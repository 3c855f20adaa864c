"""A desk to be asked badly: in a process's own loop, from any seat, and what its pages lead to."""

from __future__ import annotations

import random
import shutil
from collections import Counter

from hostile_requests import Forms, routes_of
from raw_requests import Asked
from starlette.routing import compile_path

from sortiewright.desk import DeskOptions, Shelf, make_app

HOST, ORIGIN = (b"host", b"127.0.0.1:4711"), (b"origin", b"http://127.0.0.1:4711")
OF_A_KIND = 2
"""Pages of one route, and forms with the same fields, that requests are made from."""


class Hostile:
    """A desk that runs, who asks it, and what its pages lead to."""

    def __init__(self, folder):
        self.home = folder
        self.folder, self.cards = folder / "sorties", folder / "cards"
        for one in (self.folder, self.cards):
            one.mkdir()
        shutil.copy(Shelf().demo().file, self.folder / "range.yaml")
        (folder / "secret.yaml").write_text("title: of somebody else\n", "utf-8")
        self.app = make_app(Shelf(self.folder), DeskOptions(folder=self.folder, port=4711))
        self.desk = self.app.state.desk
        new = self.desk.sessions.new_visitor
        self.seats = {
            "owner": new("front", owner=True),
            "rear": new("rear"),
            "watcher": new("watcher"),
            "stranger": None,
        }

    def ask(self, running, seat, asked, here=(HOST, ORIGIN)):
        """Ask from a seat; each request from another address, so that none is refused for their number."""
        visitor = self.seats[seat]
        cookie = () if visitor is None else (f"sortiewright_session={self.desk.sessions.cookie(visitor)}",)
        others = [value.decode("latin-1") for name, value in asked.headers if name == b"cookie"]
        rest = [one for one in asked.headers if one[0] != b"cookie"]
        if cookie or others:
            rest.append((b"cookie", "; ".join((*cookie, *others)).encode("latin-1")))
        client = "127.{}.{}.{}".format(*(random.randrange(1, 255) for _ in range(3)))
        return running.ask(Asked(asked.method, asked.target, (*here, *rest), asked.body, client))

    def crawled(self, running):
        """Return addresses that pages lead to and forms that they hold, a few of each kind."""
        pages, forms, left, seen = Counter(), {}, ["/crew", "/prepare", "/numbers/what-if"], set()
        kinds = [compile_path(path)[0] for path, _ in routes_of(self.app)]
        for path in ("/run/begin", "/debrief/example"):
            self.ask(running, "owner", Asked("POST", path.encode()))
        while left:
            target = left.pop(0)
            kind = next((one for one in kinds if one.match(target.partition("?")[0])), None)
            if target in seen or target.startswith(("/assets/", "/events")) or pages[kind] >= OF_A_KIND:
                continue
            seen.add(target)
            pages[kind] += 1
            answer = self.ask(running, "owner", Asked("GET", target.encode()))
            if answer.header("content-type").startswith("text/html"):
                found = Forms()
                found.feed(answer.body.decode())
                left += sorted(found.links - seen)
                for action, method, fields in found.forms:
                    # A form that hangs a store and one that hangs another are of a kind.
                    alike = forms.setdefault((action or target, *sorted({name for name, _ in fields})), set())
                    if len(alike) < OF_A_KIND:
                        alike.add((action or target, method.upper(), tuple(fields)))
        return seen, sorted({form for alike in forms.values() for form in alike})
