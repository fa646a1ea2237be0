"""The addresses of the store's pages: those of one record's review, and what many boxes need."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from companion.archive.query import digit_words
from companion.browse import asked
from companion.browse.app import answered, nothing_there, page_routes, played
from companion.browse.port import PageSource
from companion.errors import CompanionError
from companion.facts.shown import NO_SHOWS, Shows
from companion.language.loader import REFERENCE
from companion.report.wording import wording_in
from companion.store.connecting import StoreError
from companion.store.review import looking_after, own_key, writing
from companion.store.review.door import Door, cookie_name
from companion.store.review.people import NotLetIn, Visitor, end_session, let_in, visitor_of
from companion.store.review.pool import Pool
from companion.store.review.reading import StoreReading
from companion.store.review.sound import MOST_SHOWN, listened_to_me
from companion.store.review.source import StoreSource, rendered

WRITES = frozenset({"/logout", "/session/sign", "/session/correct", "/session/comment", "/key/ask"})


def make_store_app(
    pool: Pool, public: str = "", shows: Shows = NO_SHOWS, language: str = REFERENCE
) -> Starlette:
    """The pages over all boxes; `public`: their address behind a proxy, "" on this machine."""
    wording = wording_in(language)
    # Figures as each language says them: read now, not while the first search waits for it.
    digit_words()

    def whose(token: str) -> Visitor | None:
        with pool.letting_in() as connection:
            return visitor_of(connection, token)

    def source_of(request: Request) -> StoreSource:
        return StoreSource(pool, request.scope["visitor"], wording, shows)

    def shown(show: Callable[[Pool, StoreSource, Request], str]) -> Callable[[Request], Response]:
        def answer(request: Request) -> Response:
            def of_source(_source: PageSource, request: Request) -> str:
                return show(pool, source, request)

            source = source_of(request)
            return answered(source, of_source, request)

        return answer

    def login_page(_request: Request, told: str = "", status: int = 200) -> Response:
        return HTMLResponse(rendered("login.html.j2", wording, told=told), status)

    def log_in(form: dict[str, str], request: Request) -> Response:
        try:
            with pool.letting_in() as connection:
                token = let_in(connection, form.get("login", ""), form.get("password", ""))
        except StoreError as error:
            told = wording.words.problem(error)
            return login_page(request, told, 403 if isinstance(error, NotLetIn) else 503)
        answer = RedirectResponse("/", 303)
        answer.set_cookie(
            cookie_name(public), token, httponly=True, secure=True, samesite="strict", path="/"
        )
        return answer

    def log_out(request: Request) -> Response:
        with pool.letting_in() as connection:
            end_session(connection, request.scope["visitor"].token)
        answer = RedirectResponse("/login", 303)
        answer.delete_cookie(
            cookie_name(public), httponly=True, secure=True, samesite="strict", path="/"
        )
        return answer

    async def at_login(request: Request) -> Response:
        if request.method == "POST":
            return await run_in_threadpool(log_in, request.scope["form"], request)
        return login_page(request)

    async def written(request: Request) -> Response:
        return await run_in_threadpool(_write, pool, source_of(request), request)

    async def asked_box(request: Request) -> Response:
        return await run_in_threadpool(_ask, pool, source_of(request), request)

    def clip(request: Request) -> Response:
        try:
            clips = source_of(request).clips_of(request.path_params["session_id"])
        except CompanionError:
            return nothing_there(source_of(request))
        return played(clips, request.path_params["sha256"])

    def not_here(request: Request, _error: Exception) -> Response:
        visitor = request.scope.get("visitor")
        if visitor is None:
            return RedirectResponse("/login", 303)
        return nothing_there(source_of(request))

    return Starlette(
        routes=[
            Route("/login", at_login, methods=["GET", "POST"]),
            Route("/logout", log_out, methods=["POST"]),
            Route("/fleet", shown(_fleet)),
            Route("/worklist", shown(_worklist)),
            Route("/session/write", shown(_writing_page)),
            Route("/session/clip/{session_id}/{sha256}.flac", clip, methods=["GET"]),
            Route("/listened", shown(_listened)),
            Route("/key", shown(_key_page)),
            Route("/key/ask", asked_box, methods=["POST"]),
            *(
                Route(path, written, methods=["POST"])
                for path in WRITES
                if path.startswith("/session/")
            ),
            *page_routes(source_of),
        ],
        middleware=[Middleware(Door, public=public, writes=WRITES, whose=whose)],
        exception_handlers={404: not_here},
    )


def _fleet(pool: Pool, source: StoreSource, _request: Request) -> str:
    with pool.acting_as(source.visitor.role) as connection:
        boxes = looking_after.fleet(connection)
    return source.page(
        "fleet.html.j2",
        here="fleet",
        title=source.wording("page-fleet"),
        boxes=boxes,
        troubled=sum(box.needs_somebody for box in boxes),
    )


def _listened(pool: Pool, source: StoreSource, _request: Request) -> str:
    with pool.acting_as(source.visitor.role) as connection:
        heard = listened_to_me(connection)
    return source.page(
        "listened.html.j2",
        here="listened",
        title=source.wording("page-listened"),
        heard=heard,
        may_look=source.visitor.may_look,
        most=MOST_SHOWN,
    )


def _worklist(pool: Pool, source: StoreSource, _request: Request) -> str:
    with pool.acting_as(source.visitor.role) as connection:
        waiting = looking_after.worklist(connection)
        changed = looking_after.changed_parts(connection)
        boxes = [box for box in looking_after.fleet(connection) if box.needs_somebody]
    return source.page(
        "worklist.html.j2",
        here="worklist",
        title=source.wording("page-worklist"),
        waiting=waiting,
        changed=changed,
        boxes=boxes,
        lines=looking_after.LINES,
    )


def _writing_page(pool: Pool, source: StoreSource, request: Request) -> str:
    return _form(pool, source, asked.text(request, "id"), "")


def _form(pool: Pool, source: StoreSource, session_id: str, told: str) -> str:
    with pool.acting_as(source.visitor.role) as connection:
        job = StoreReading(connection).job(session_id)
    return source.page(
        "write.html.j2",
        here="session",
        title=source.wording("page-write"),
        session_id=session_id,
        job=job,
        told=told,
    )


def _write(pool: Pool, source: StoreSource, request: Request) -> Response:
    """A sign-off, correction or comment; then back to the job, or to the form with why not."""
    form, visitor = request.scope["form"], source.visitor
    session_id = form.get("id", "")[: asked.LONGEST]
    password = form.get("password", "")
    try:
        with pool.acting_as(visitor.role, writing=True) as connection:
            match request.url.path:
                case "/session/sign":
                    writing.sign_off(
                        connection, visitor, session_id, form.get("remark", ""), password
                    )
                case "/session/correct":
                    writing.correct(
                        connection,
                        visitor,
                        session_id,
                        _whole(form.get("event", "")),
                        form.get("now", ""),
                        form.get("why", ""),
                        password,
                    )
                case _:
                    writing.comment(connection, session_id, form.get("comment", ""))
    except CompanionError as error:
        _count_wrong_password(pool, visitor, error)
        return _again(pool, source, session_id, source.wording.words.problem(error))
    return RedirectResponse(f"/session?id={_quoted(session_id)}", 303)


def _key_page(pool: Pool, source: StoreSource, _request: Request) -> str:
    return _key_form(pool, source, "")


def _key_form(pool: Pool, source: StoreSource, told: str) -> str:
    with pool.acting_as(source.visitor.role) as connection:
        key = own_key.own_key(connection)
        boxes = own_key.known_at(connection, key) if source.visitor.may_write else ()
    return source.page(
        "key.html.j2",
        here="key",
        title=source.wording("page-key"),
        key=key,
        boxes=boxes,
        told=told,
    )


def _ask(pool: Pool, source: StoreSource, request: Request) -> Response:
    """Ask a box to know the visitor's key; back to the page, with why not where it went wrong."""
    form, visitor = request.scope["form"], source.visitor
    try:
        with pool.acting_as(visitor.role, writing=True) as connection:
            box = _whole(form.get("box", ""))
            own_key.ask(connection, visitor, box, form.get("password", ""))
    except CompanionError as error:
        _count_wrong_password(pool, visitor, error)
        return HTMLResponse(_key_form(pool, source, source.wording.words.problem(error)), 400)
    return RedirectResponse("/key", 303)


def _count_wrong_password(pool: Pool, visitor: Visitor, error: CompanionError) -> None:
    """One more try that was wrong, where that is the error: they are not tried one by one."""
    if isinstance(error, NotLetIn):
        with pool.letting_in() as connection:
            connection.execute("SELECT store.page_failed_by(%s)", (visitor.person,))


def _again(pool: Pool, source: StoreSource, session_id: str, told: str) -> Response:
    def form(_source: PageSource, _request: Request) -> str:
        return _form(pool, source, session_id, told)

    answer = answered(source, form, Request({"type": "http"}))
    answer.status_code = max(answer.status_code, 400)
    return answer


def _quoted(session_id: str) -> str:
    return quote(session_id, safe="")


def _whole(told: str) -> int:
    return int(told) if told.isascii() and told.isdigit() and len(told) < 9 else 0
