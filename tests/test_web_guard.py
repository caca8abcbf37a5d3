"""Odd bytes in what a browser sends are refused in words, and tokens cannot be guessed fast."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from howdeep.web.app import create_app
from howdeep.web.guesses import ADDRESSES, FREE, LONGEST, Guesses

from .pages import HOST, Page, folder_with_case, hidden

ODD = [
    "\u00e9",
    "\u20ac" * 43,
    "\udcff",
    "\x7f",
    "x" * 5000,
    "\u00e9" * 43,
    "\U0001f527",
    '"',
    "a;b",
    "=",
    "\u0130" * 64,
]


@pytest.fixture(scope="module")
def app(tmp_path_factory, shop):
    return create_app(folder_with_case(tmp_path_factory.mktemp("page")), shop)


@pytest.fixture(scope="module")
def locked(tmp_path_factory, shop):
    return create_app(
        folder_with_case(tmp_path_factory.mktemp("page")),
        shop,
        hosts=frozenset({""}),
        token="a long enough t\u00f6ken",
        guesses=Guesses(lambda: 0.0),
    )


def raw(app, path, method="GET", headers=(), body=b""):
    """The status of a request whose headers may hold any byte, as the server hands them on."""
    import io

    found = []
    environ = {
        "REQUEST_METHOD": method,
        "PATH_INFO": path,
        "QUERY_STRING": "",
        "SERVER_NAME": "localhost",
        "SERVER_PORT": "80",
        "HTTP_HOST": "localhost",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": "http",
        "wsgi.input": io.BytesIO(body),
        "wsgi.errors": io.StringIO(),
        "wsgi.multithread": True,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
        "CONTENT_TYPE": "application/x-www-form-urlencoded",
        "CONTENT_LENGTH": str(len(body)),
        "REMOTE_ADDR": "127.0.0.1",
        **dict(headers),
    }
    b"".join(app(environ, lambda status, *_: found.append(int(status.split()[0]))))
    return found[0]


BYTES = st.binary(max_size=60).map(lambda data: data.decode("latin-1"))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    value=st.one_of(BYTES, st.sampled_from([".", "..", "[", "[::1", "//[", "http://[x", "localhost:x", "a@b", "]"])),
    name=st.sampled_from(
        [
            "HTTP_HOST",
            "HTTP_ORIGIN",
            "HTTP_COOKIE",
            "HTTP_SEC_FETCH_SITE",
            "HTTP_REFERER",
            "QUERY_STRING",
            "CONTENT_TYPE",
        ]
    ),
    method=st.sampled_from(["GET", "POST"]),
)
def test_no_header_of_any_bytes_gives_a_fault_of_the_program(app, locked, name, value, method):
    if name == "HTTP_COOKIE":
        value = f"howdeep_session={value}; howdeep_pass={value}"
    for one in (app, locked):
        for path in ("/", "/enter", "/job/hill-farm/answer"):
            assert raw(one, path, method, {name: value}, b"question=noise&noise=ping") < 500


@pytest.mark.parametrize("host", [".", "..", "a..b", "-", "[", "localhost:x", ""], ids=ascii)
def test_a_host_that_is_none_is_refused_in_words_on_every_page(app, locked, host):
    for path in ("/", "/new", "/engines", "/prices", "/shop", "/job/hill-farm", "/job/hill-farm/quote"):
        assert 400 <= raw(app, path, headers={"HTTP_HOST": host}) < 500, path
        assert raw(locked, path, headers={"HTTP_HOST": host}) < 500, path  # it answers to any name, after its pass


@pytest.mark.parametrize("odd", ODD, ids=ascii)
def test_an_odd_form_token_or_cookie_is_refused_in_words(app, odd):
    page = Page(app)
    page.get("/")
    response = page.client.post(
        "/job/hill-farm/answer",
        headers=HOST,
        data={"question": "noise", "noise": "ping", "form_token": odd.encode("utf-8", "surrogatepass")},
    )
    assert response.status_code == 403
    assert (
        raw(
            app,
            "/",
            headers={"HTTP_COOKIE": "howdeep_session=" + odd.encode("utf-8", "surrogatepass").decode("latin-1")},
        )
        == 200
    )


@pytest.mark.parametrize("odd", ODD, ids=ascii)
def test_an_odd_token_or_pass_is_refused_in_words(tmp_path, shop, odd):
    app = create_app(folder_with_case(tmp_path), shop, hosts=frozenset({""}), token="a long enough t\u00f6ken")
    page = Page(app)
    sent = odd.encode("utf-8", "surrogatepass")
    assert page.post("/enter", "/enter", {"token": sent}).status_code == 403
    assert raw(app, "/", headers={"HTTP_COOKIE": "howdeep_pass=" + sent.decode("latin-1")}) == 303


def test_a_token_of_any_letters_is_taken(locked):
    page = Page(locked)
    assert page.post("/enter", "/enter", {"token": "a long enough t\u00f6ken"}).status_code == 303
    assert page.get("/").status_code == 200


# --- guesses


class Clock:
    def __init__(self):
        self.now = 0.0

    def __call__(self):
        return self.now


def test_after_a_few_wrong_tokens_even_the_right_one_must_wait(tmp_path, shop):
    clock = Clock()
    page = Page(
        create_app(
            folder_with_case(tmp_path), shop, hosts=frozenset({""}), token="a long enough token", guesses=Guesses(clock)
        )
    )
    html = page.get("/enter").get_data(as_text=True)
    wrong = {"form_token": hidden(html, "form_token"), "token": "wrong"}
    right = {**wrong, "token": "a long enough token"}
    for _ in range(FREE):
        assert page.client.post("/enter", data=wrong, headers=HOST).status_code == 403
    refused = page.client.post("/enter", data=right, headers=HOST)
    assert refused.status_code == 429 and int(refused.headers["Retry-After"]) >= 1
    assert "Wait 1 s" in refused.get_data(as_text=True)
    other = page.client.post("/enter", data=right, headers=HOST, environ_overrides={"REMOTE_ADDR": "192.0.2.7"})
    assert other.status_code == 303, "one address that guesses does not shut out the others"
    clock.now += int(refused.headers["Retry-After"])
    assert page.client.post("/enter", data=right, headers=HOST).status_code == 303


def guessed_in(seconds, addresses):
    """How many guesses are looked at in a time by one who tries from so many addresses as fast as can be."""
    clock = Clock()
    guesses, looked = Guesses(clock), 0
    while clock.now < seconds:
        waits = []
        for address in addresses:
            wait = guesses.take(address)
            looked += not wait
            waits.append(wait)
            if wait and len(waits) > 300:
                break
        clock.now += max(0.5, min(waits))
    assert len(guesses.known) <= ADDRESSES
    return looked


def test_a_day_of_guessing_from_one_address_is_a_hundred_or_so_tries():
    assert guessed_in(86_400, ["192.0.2.1"]) <= 86_400 / LONGEST + 20


def test_many_addresses_are_no_way_round_and_take_no_memory():
    import itertools

    names = itertools.count()

    class Fresh:
        def __iter__(self):
            return (f"2001:db8::{next(names):x}" for _ in range(600))

    assert guessed_in(3_600, Fresh()) <= 3_600 / 6 + 60


def test_an_hour_without_a_try_is_a_new_beginning():
    clock = Clock()
    guesses = Guesses(clock)
    for _ in range(FREE):
        assert not guesses.take("a")
    assert guesses.take("a") > 0
    clock.now += 2 * 3600
    assert all(not guesses.take("a") for _ in range(FREE - 1))
