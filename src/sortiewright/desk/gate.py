"""Who may see what: visitors with a cookie come in, watchers change nothing, owners alone do some things."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import wraps

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from sortiewright.desk.guard import SAFE_METHODS, Refuse
from sortiewright.desk.sessions import Sessions, Visitor

SESSION_COOKIE = "sortiewright_session"
OPEN_PATHS = frozenset({"/enter", "/join"})
OPEN_PREFIX = "/assets/"
OF_ONES_OWN = frozenset({"/scheme", "/units", "/leave"})
"""Changes that concern nobody else: a watcher may make them too."""

Endpoint = Callable[[Request], Awaitable[Response]]


class Gate:
    """Lets visitors in and notes who they are; everybody else sees only how to join."""

    def __init__(self, app: ASGIApp, *, sessions: Sessions, refuse: Refuse) -> None:
        self.app, self._sessions, self._refuse = app, sessions, refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check one request and pass it on."""
        if scope["type"] == "http":
            cookie = HTTPConnection(scope).cookies.get(SESSION_COOKIE, "")
            visitor = self._sessions.visitor(cookie)
            scope.setdefault("state", {})["visitor"] = visitor
            if refusal := self._refusal(scope, visitor):
                await refusal(scope, receive, send)
                return
        await self.app(scope, receive, send)

    def _refusal(self, scope: Scope, visitor: Visitor | None) -> Response | None:
        path: str = scope["path"]
        if path in OPEN_PATHS or path.startswith(OPEN_PREFIX):
            return None
        if visitor is None:
            return self._refuse(scope, 403, "This desk is not open to you yet.")
        if visitor.seat == "watcher" and scope["method"] not in SAFE_METHODS and path not in OF_ONES_OWN:
            return self._refuse(scope, 403, "Watchers change nothing. Join again to take a seat.")
        return None


def visitor_of(request: HTTPConnection) -> Visitor:
    """Return who asks. Only for pages behind the gate: there is always somebody."""
    visitor: Visitor | None = request.state.visitor
    if visitor is None:
        raise HTTPException(403, "This desk is not open to you yet.")
    return visitor


def for_owner(endpoint: Endpoint) -> Endpoint:
    """Return the endpoint as one that serves only the device that started the desk.

    For everything that concerns the machine itself: a folder to write into, the join code, stopping.
    """

    @wraps(endpoint)
    async def guarded(request: Request) -> Response:
        if not visitor_of(request).owner:
            raise HTTPException(403, "Only the device that started the desk may do this.")
        return await endpoint(request)

    return guarded
