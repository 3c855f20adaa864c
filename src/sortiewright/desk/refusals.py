"""The pages that say no, in the same frame: what was wrong, and what to do."""

from __future__ import annotations

import html
import logging
from collections.abc import Callable

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, HTTPConnection, Request
from starlette.responses import HTMLResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sortiewright.desk.guard import BodyRefused, Refuse
from sortiewright.desk.state import Desk, preferences_of

log = logging.getLogger(__name__)

TITLES = {
    400: "That could not be read",
    403: "Not allowed",
    404: "Nothing here",
    405: "Not that way",
    408: "Not all of it came",
    409: "Not now",
    413: "Too large",
    415: "Not in this form",
    421: "Wrong address",
    429: "Too fast",
    500: "A fault of the program",
    503: "Full",
}
HINTS = {
    403: "Open the link that the desk printed when it started, or join with the code it shows.",
    404: "The ribbon on the desk's pages leads to every part of the sortie.",
    421: "Open the address that the desk printed when it started.",
    500: "Nothing was lost. Please report it with what the desk printed where it was started.",
}


def refuser(desk: Desk) -> Refuse:
    """Return what makes the page that says no."""

    def refuse(scope: Scope, status: int, text: str) -> Response:
        title, hint = TITLES.get(status, "That did not work"), HINTS.get(status, "")
        if "hx-request" in Headers(scope=scope):
            # htmx would swap it in where the answer was awaited; it belongs where notices stand.
            said = html.escape(" ".join(part for part in (f"{title}.", text, hint) if part))
            headers = {"HX-Retarget": "#notice", "HX-Reswap": "innerHTML"}
            return HTMLResponse(f'<p class="notice">{said}</p>', status, headers)
        scheme = preferences_of(HTTPConnection(scope)).scheme
        page = desk.render("refusal.html", scheme=scheme, title=title, text=text, hint=hint, status=status)
        return HTMLResponse(page, status)

    return refuse


def http_refusal(refuse: Refuse) -> Callable[[Request, Exception], Response]:
    """Return the handler of exceptions that carry a status."""

    def handle(request: Request, error: Exception) -> Response:
        if not isinstance(error, HTTPException):
            raise error
        usual = {404: "There is no such page.", 405: "This address takes no such request."}
        answer = refuse(request.scope, error.status_code, usual.get(error.status_code, error.detail))
        answer.headers.update(error.headers or {})
        return answer

    return handle


class FaultPage:
    """Turns a fault of the program into a page; what happened goes to the log, never to the visitor."""

    def __init__(self, app: ASGIApp, *, refuse: Refuse) -> None:
        self.app, self._refuse = app, refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on, and answer for what went wrong."""
        started = False

        async def noted_send(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self.app(scope, receive, noted_send)
        except BodyRefused:
            raise
        except ClientDisconnect:  # gone before it had said all: nobody waits for an answer
            return
        except Exception:
            if scope["type"] != "http":
                raise
            log.exception("%s %s", scope["method"], scope["path"])
            if not started:
                await self._refuse(scope, 500, "The desk could not make this page.")(scope, receive, send)
