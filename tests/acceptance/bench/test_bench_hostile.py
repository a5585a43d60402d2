"""Hostile requests to a shared page, sixty and more: none gets in, none changes the book or a file beside it."""

from __future__ import annotations

import http.client
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from springfit.records.reading import read_book
from tests.helpers.bench_page import bench_events as made
from tests.helpers.bench_page.bench_browser import Server, serving

SHEET = "sheet0001"
EVENT = f"/call/sheet/{SHEET}/event"
JSON = {"Content-Type": "application/json"}
SCRIPT = "<script>document.title='owned'</script>"


@dataclass
class Shared:
    """A shared page, the session of somebody who gave the code, and how the book was."""

    server: Server
    book: Path
    cookie: str
    digest: str
    beside: dict[str, bytes] = field(default_factory=dict)

    def ask(self, method: str, path: str, headers: dict[str, str], body: bytes | None = None) -> tuple[int, str]:
        """Status and text of one request, whatever its headers are."""
        line = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=20)
        try:
            line.putrequest(method, path, skip_host="Host" in headers, skip_accept_encoding=True)
            for name, value in headers.items():
                line.putheader(name, value)
            if body is not None and "Content-Length" not in headers and "Transfer-Encoding" not in headers:
                line.putheader("Content-Length", str(len(body)))
            line.endheaders(body)
            answer = line.getresponse()
            return answer.status, answer.read().decode("utf-8", "replace")
        finally:
            line.close()


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shared]:
    folder = tmp_path_factory.mktemp("shared")
    book = made.small(folder / "book")
    (folder / "secret.txt").write_text("the shop's prices", encoding="utf-8")
    (folder / "secret.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    with serving(book, "--share") as server:
        page = Shared(server, book, "", "")
        status, _ = page.ask("POST", "/call/enter", JSON, json.dumps({"code": server.code}).encode())
        assert status == 200
        line = http.client.HTTPConnection("127.0.0.1", server.port)
        line.request("POST", "/call/enter", json.dumps({"code": server.code}), JSON)
        cookie = line.getresponse().headers["Set-Cookie"]
        assert "HttpOnly" in cookie and "samesite=strict" in cookie.lower() and "max-age" in cookie.lower()
        page.cookie = cookie.split(";")[0]
        for event in (made.start(), made.bell(), made.reading(made.place(), made.sound(100))):
            assert page.ask("POST", EVENT, {**JSON, "Cookie": page.cookie}, json.dumps(event).encode())[0] == 200
        page.digest = read_book(book)[0].digest
        page.beside = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
        yield page


def _post(path: str, said: object, **headers: str) -> tuple[str, str, dict[str, str], bytes]:
    body = said if isinstance(said, bytes) else json.dumps(said).encode()
    return "POST", path, {**JSON, **{name.replace("_", "-"): value for name, value in headers.items()}}, body


def _get(path: str, **headers: str) -> tuple[str, str, dict[str, str], None]:
    return "GET", path, {name.replace("_", "-"): value for name, value in headers.items()}, None


OUTSIDE = [  # without a session
    _get("/"), _get("/mandrel?id=OAK"), _get("/new/batch?mandrel=OAK"), _get(f"/sheet/{SHEET}"), _get("/doubts"),
    _get(f"/call/sheet/{SHEET}"), _get(f"/call/sheet/{SHEET}/curve?bell=B9-1"), _get("/", Cookie="springfit_session="),
    _get("/", Cookie="springfit_session=AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"),
    _get("/", Cookie="springfit_session=' or 1=1"), _get("/", Authorization="Basic YWRtaW46YWRtaW4="),
    _get("/", X_Forwarded_For="127.0.0.1"), _post(EVENT, made.bell("B9-9")), _post("/call/undo", {}),
    _post(f"/call/sheet/{SHEET}/finish", {}), _post("/call/enter", {"code": "00000000"}),
    _post("/call/enter", {"code": ["0"]}), _post("/call/enter", {"code": SCRIPT}), _post("/call/enter", b"[]"),
    _post("/call/enter", b"{" * 3000), _get("/enter/../"), _get("/static/../web/calls.py"),
    _get("/static/..%2f..%2fcalls.py"), _get("/static/%2e%2e/%2e%2e/calls.py"),
    _get("/report?target=OAK-T&file=card.pdf"),
    _get("/static/bench.js/../../../secret.txt"), _post("/call/learn", {}), _post("/call/correct", {"target": "OAK-T"}),
    _get("/static//etc/passwd"), _get("/static/templates/base.html"), _get("/static/sheet/../../calls.py"),
    _get("/static/sheet%2f..%2f..%2fcalls.py"), _get("/static/sheet"), _get("/static/sheet/"),
    _get("/ask?mandrel=OAK"), _get("/work"),
    _get("/call/work"), _post("/call/ask", {"mandrel": "OAK", "changes": []}), _get("/call/readers"),
    _post("/call/read", {}), _get("/report?target=OAK-T&file=correction.html"),
]  # fmt: skip
INSIDE = [  # by somebody who has a session, or whose browser another site uses
    _get("/../secret.txt"), _get("/%2e%2e/secret.txt"), _get("/..%2fsecret.csv"), _get("/sheet/..%2f..%2fsecret"),
    _get("/call/sheet/..%2f..%2fsecret.txt"), _get("/mandrel?id=../../secret"), _get("/mandrel?id=" + "A" * 2000),
    _get("/mandrel?id=%3Cscript%3E"), _get("/new/batch?mandrel=" + "%00"), _get("/nothing/here"),
    _get("/report?target=OAK-T&file=../../secret.txt"), _get("/report?target=../..&file=card.pdf"),
    _get("/report?target=OAK-T&file=verdict.json"), _post("/call/correct", {"target": "../../secret"}),
    _get("/", Host="evil.example"), _get("/", Host="evil.example:8765"), _get("/", Host="127.0.0.1.evil.example"),
    _get(f"/call/sheet/{SHEET}", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="cors"),
    _get("/static/bench.js", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="no-cors"),
    _post(EVENT, made.bell("B9-9"), Origin="http://evil.example"),
    _post(EVENT, made.bell("B9-9"), Origin="null"),
    _post(EVENT, made.bell("B9-9"), Sec_Fetch_Site="cross-site"),
    _post(EVENT, made.bell("B9-9"), Sec_Fetch_Site="same-site"),
    _post("/call/undo", {}, Origin="http://evil.example"),
    ("POST", "/call/undo", {"Content-Type": "text/plain"}, b"{}"),
    ("POST", "/call/undo", {"Content-Type": "application/x-www-form-urlencoded"}, b"a=b"),
    ("POST", EVENT, {"Content-Type": "multipart/form-data; boundary=x"}, b"--x--"),
    ("PUT", EVENT, JSON, b"{}"), ("DELETE", f"/sheet/{SHEET}", {}, None), ("OPTIONS", EVENT, {}, None),
    ("TRACE", "/", {}, None), ("GET", "/call/undo", {}, None),
    _post(EVENT, b"x" * 40_000), _post(EVENT, {"id": "a" * 30_000, "what": "bell"}),
    ("POST", EVENT, {**JSON, "Content-Length": "99999999999"}, b"{}"),
    ("POST", EVENT, {**JSON, "Content-Length": "-1"}, b"{}"),
    ("POST", EVENT, {**JSON, "Transfer-Encoding": "chunked"}, b"ffff\r\n" + b"y" * 65535 + b"\r\n0\r\n\r\n"),
    _post(EVENT, b"\xff\xfe\x00"), _post(EVENT, b"[[" * 9000), _post(EVENT, b"null"), _post(EVENT, b'{"id":'),
    _post("/call/sheet/..%2f..%2fetc/event", made.start()), _post("/call/sheet/UPPER/event", made.start()),
    _post(EVENT, made.start()), _post(EVENT, {"id": "goodgood1", "what": "__class__"}),
    _post(EVENT, {"id": "goodgood1", "what": "bell", "bell": "B\u0000"}),
    _post(EVENT, {"id": "goodgood1", "what": "bell", "bell": "B1", "cells": {"note": {"a": 1}}}),
    _post(EVENT, {"id": "goodgood1", "what": "reading", "place": {"bell": "../x"}}),
    _post("/call/sheet/abcdefgh99/event", made.bell()), _post("/call/sheet/abcdefgh99/finish", {}),
]  # fmt: skip
FOREIGN = ({"Origin": "http://evil.example"}, {"Origin": "null"}, {"Sec_Fetch_Site": "cross-site"},
           {"Content_Type": "text/plain"}, {"Host": "evil.example"})  # fmt: skip
WORK = [  # reports, learning, asking: no other site begins or reads them, nothing that is not known is taken
    *(_post("/call/learn", {}, **foreign) for foreign in FOREIGN),
    *(_post("/call/correct", {"target": "OAK-T"}, **foreign) for foreign in FOREIGN),
    *(_post("/call/ask", {"mandrel": "OAK", "changes": []}, **foreign) for foreign in FOREIGN),
    _get("/call/work", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="cors"),
    _get("/report?target=OAK-T&file=card.pdf", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="no-cors"),
    _get("/report?target=OAK-T&file=" + "..%2f" * 9 + "secret.txt"), _get("/report?target=OAK-T&file=card.pdf%00.html"),
    _get("/report?target=OAK-T&file=/etc/passwd"), _get("/report?target=%3Cscript%3E&file=card.pdf"),
    _get("/report?target=OAK-T"), _get("/report?file=card.pdf"), _get("/report?target=OAK-T&file=" + "A" * 2000),
    _get("/report/../../secret.txt"), ("GET", "/call/learn", {}, None), ("GET", "/call/correct", {}, None),
    ("GET", "/call/ask?mandrel=OAK", {}, None), ("PUT", "/call/learn", JSON, b"{}"),
    _post("/call/learn", b"x" * 40_000), _post("/call/learn/../undo", {}),
    _post("/call/learn", {}, Content_Length="-5"),
    _post("/call/correct", {"target": SCRIPT}), _post("/call/correct", {"target": ["OAK-T"]}),
    _post("/call/correct", {"target": "--help"}), _post("/call/correct", {"target": "OAK-T\u0000"}),
    _post("/call/correct", {}), _post("/call/correct", b"[]"), _post("/call/correct", b"[" * 9000),
    _post("/call/ask", {"mandrel": SCRIPT, "changes": []}),
    _post("/call/ask", {"mandrel": "../../secret", "changes": []}),
    _post("/call/ask", {"mandrel": ["OAK"], "changes": []}), _post("/call/ask", {"mandrel": {"a": 1}, "changes": []}),
    _post("/call/ask", {"mandrel": "OAK"}), _post("/call/ask", {"mandrel": "OAK", "changes": "wall"}),
    _post("/call/ask", {"mandrel": "OAK", "changes": [["wall"]]}),
    _post("/call/ask", {"mandrel": "OAK", "changes": [1]}),
    _post("/call/ask", {"mandrel": "OAK", "changes": [["wall", "1" * 50]]}),
    _post("/call/ask", {"mandrel": "OAK", "changes": [["wall", {"a": 1}]]}), _post("/call/ask", b"null"),
    _post("/call/ask", b'{"mandrel": "OAK", "changes": [' + b'["a","b"],' * 4000 + b'["a","b"]]}'),
]  # fmt: skip


def test_there_are_sixty_of_them() -> None:
    assert len(OUTSIDE) + len(INSIDE) + len(WORK) >= 60


def _held(shared: Shared, status: int, text: str) -> None:
    """Nothing came of it."""
    assert status >= 400 or (status, text) == (303, ""), f"{status}: {text[:200]}"
    assert status != 500, f"refused by accident, not by a rule: {text[:200]}"
    assert "Traceback" not in text and "/springfit/" not in text and "the shop's prices" not in text
    assert "<script" not in re.sub(r'<script type="module" src="/static/(pages/|sheet/)?\w+\.js"></script>', "", text)


@pytest.mark.parametrize("number", range(len(OUTSIDE)))
def test_without_the_code_nothing_is_to_be_had(shared: Shared, number: int) -> None:
    method, path, headers, body = OUTSIDE[number]
    status, text = shared.ask(method, path, headers, body)
    _held(shared, status, text)


@pytest.mark.parametrize("number", range(len(INSIDE) + len(WORK)))
def test_with_a_session_nothing_else_is_to_be_had_either(shared: Shared, number: int) -> None:
    method, path, headers, body = [*INSIDE, *WORK][number]
    status, text = shared.ask(method, path, {**headers, "Cookie": shared.cookie}, body)
    _held(shared, status, text)


def test_a_value_played_again_counts_once(shared: Shared) -> None:
    event = made.reading(made.place(fixed="120"), made.sound(120))
    own = {**JSON, "Cookie": shared.cookie}
    answers = [shared.ask("POST", EVENT, own, json.dumps(event).encode()) for _ in range(5)]
    assert {status for status, _ in answers} == {200}
    assert {json.loads(text)["values"] for _, text in answers} == {2}


def test_what_is_typed_is_shown_as_text(shared: Shared) -> None:
    start = {**made.start(SCRIPT), "cells": {**made.start()["cells"], "mandrel_id": "OAK"}}
    own = {**JSON, "Cookie": shared.cookie}
    assert shared.ask("POST", "/call/sheet/scripted1/event", own, json.dumps(start).encode())[0] == 200
    for path in ("/", "/mandrel?id=OAK", "/sheet/scripted1"):
        status, text = shared.ask("GET", path, {"Cookie": shared.cookie})
        assert status == 200 and SCRIPT not in text and "&lt;script&gt;" in text


def test_nothing_was_begun_by_any_of_them(shared: Shared) -> None:
    status, text = shared.ask("GET", "/call/work", {"Cookie": shared.cookie})
    work = json.loads(text)
    assert status == 200 and not work["running"] and not work["title"] and not work["problems"]


def test_a_session_of_an_earlier_start_opens_nothing(shared: Shared, tmp_path: Path) -> None:
    with serving(made.small(tmp_path / "book"), "--share") as later:
        page = Shared(later, tmp_path / "book", "", "")
        assert page.ask("GET", "/", {"Cookie": shared.cookie}) == (303, "")
        event = json.dumps(made.start()).encode()
        assert page.ask("POST", EVENT, {**JSON, "Cookie": shared.cookie}, event)[0] == 401
        old_code = json.dumps({"code": shared.server.code}).encode()
        assert page.ask("POST", "/call/enter", JSON, old_code)[0] == 403


def test_wrong_codes_make_the_next_wait(shared: Shared) -> None:
    said = [shared.ask("POST", "/call/enter", JSON, b'{"code":"11112222"}')[0] for _ in range(4)]
    assert 429 in said and 200 not in said


def test_every_answer_forbids_what_the_page_does_not_need(shared: Shared) -> None:
    line = http.client.HTTPConnection("127.0.0.1", shared.server.port)
    line.request("GET", "/", headers={"Cookie": shared.cookie})
    headers = line.getresponse().headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy and "http" not in policy.replace("http-equiv", "")
    assert headers["X-Content-Type-Options"] == "nosniff" and headers["X-Frame-Options"] == "DENY"
    assert "Server" not in headers


def test_after_all_of_it_the_book_and_what_lies_beside_are_as_they_were(shared: Shared) -> None:
    assert read_book(shared.book)[0].digest == shared.digest
    beside = {path.name: path.read_bytes() for path in shared.book.parent.iterdir() if path.is_file()}
    said = beside.pop("server-errors.txt").decode()
    assert "Traceback" not in said, said
    before = {name: data for name, data in shared.beside.items() if name != "server-errors.txt"}
    assert beside == before
    made_by_now = {path.name for path in shared.book.parent.iterdir()}
    assert made_by_now == {"book", "secret.txt", "secret.csv", "server-errors.txt"}
    assert shared.server.process.poll() is None
