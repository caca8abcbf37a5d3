"""A job done by hand in a browser, from the customer's words to the final bill: by clicks, or by the keyboard alone."""

from selenium.common.exceptions import WebDriverException
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from howdeep.files.strict_yaml import read

from .pages import CASE

CASE_PLAIN = read(CASE).value
MOST_TABS = 400
BURST = 6
MOST_WAIVERS = 3
_FOCUSED = """
if (!window.focused) document.addEventListener('focusin', event => window.focused.push(event.target));
const wanted = arguments[0], group = wanted.type === 'radio' ? wanted.name : null, here = document.activeElement;
const is = item => item === wanted || (group && item.type === 'radio' && item.name === group);
const met = is(here) ? 'here' : (window.focused || []).some(is) ? 'past' : 'not yet';
window.focused = [];
return [here, met];
"""
"""What has the focus, and whether that is the element or one of its group, or one was met by the presses before."""


class Clicks:
    """Works the page as a thumb or a mouse does."""

    def __init__(self, window, base):
        self.window, self.base, self.visited = window, base, []

    def one(self, selector):
        found = [item for item in self.window.find_elements(By.CSS_SELECTOR, selector) if item.is_displayed()]
        assert found, f"{selector} is not there to be seen on {self.window.current_url}"
        return found[0]

    def there(self, selector):
        return any(item.is_displayed() for item in self.window.find_elements(By.CSS_SELECTOR, selector))

    def _into_view(self, element):
        self.window.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)

    def act(self, element):
        self._into_view(element)
        element.click()

    def choose(self, selector):
        """A radio button, a box to tick or a line that opens."""
        self.act(self.one(selector))

    def fill(self, selector, text):
        element = self.one(selector)
        self._into_view(element)
        element.send_keys(text)

    def go(self, selector):
        """Press a button or follow a link, and wait for the page that follows; a page that scrolls sideways fails."""
        element = self.one(selector)
        self.window.execute_script("window.before = 1")
        self.act(element)
        WebDriverWait(self.window, 60, ignored_exceptions=[WebDriverException]).until(
            lambda w: w.execute_script("return window.before !== 1 && document.readyState === 'complete'")
        )
        self.visited.append(self.window.current_url.removeprefix(self.base))
        wide = self.window.execute_script("return document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 1, f"{self.window.current_url} scrolls sideways"
        assert "404" not in self.window.title and "fault" not in self.window.title, self.window.page_source[:2000]

    def back_to(self, name, end=""):
        """A paper has no navigation: its reader goes back in the browser."""
        self.window.back()
        WebDriverWait(self.window, 60).until(lambda w: w.current_url.endswith(f"/job/{name}{end}"))

    def text(self):
        return self.window.find_element(By.TAG_NAME, "body").text


class Keyboard(Clicks):
    """Works the page with the Tab key, Enter, Space and arrows alone; no click, and no focus set by script."""

    def reach(self, element):
        """Go on with Tab until the element, or a radio button of its group, has the focus. Six presses at a time; past
        it, back with Shift and Tab, press by press."""
        presses = [Keys.TAB] * BURST
        for _ in range(MOST_TABS // BURST + BURST):
            here, met = self.window.execute_script(_FOCUSED, element)
            if met == "here":
                shown = self.window.execute_script("return getComputedStyle(arguments[0]).outlineStyle", here)
                assert shown != "none", "what has the focus does not show it"
                return here
            if met == "past":
                presses = [Keys.SHIFT, Keys.TAB]
            here.send_keys(*presses)
        raise AssertionError(f"the keyboard does not reach {element.get_attribute('outerHTML')[:200]}")

    def act(self, element):
        here = self.reach(element)
        if element.get_attribute("type") != "radio":
            here.send_keys(Keys.SPACE if element.get_attribute("type") == "checkbox" else Keys.ENTER)
            return
        here.send_keys(Keys.SPACE)
        for _ in range(60):
            here = self.window.switch_to.active_element
            if here == element:
                return
            here.send_keys(Keys.ARROW_DOWN)
        raise AssertionError("the arrows do not reach the answer")

    def fill(self, selector, text):
        self.reach(self.one(selector)).send_keys(text)

    def back_to(self, name, end=""):
        self.window.switch_to.active_element.send_keys(Keys.ALT, Keys.ARROW_LEFT)
        if not self.window.current_url.endswith(f"/job/{name}{end}"):
            super().back_to(name, end)


def begin(hand):
    """The customer's words and the engine; returns the name of the job."""
    hand.window.get(hand.base)
    hand.go("nav[aria-label=Main] a[href='/new']")
    hand.fill("#words", CASE_PLAIN["customer"]["words"])
    hand.choose(f"input[name=engine][value={CASE_PLAIN['engine']}]")
    hand.fill("#name", "A. Customer")
    hand.go("main form button")
    return hand.window.current_url.split("/job/")[1].split("/")[0]


def talk(hand, most, answered=lambda: None):
    """Up to `most` questions of the customer's part; `answered` is called after each."""
    if hand.there("form.heard"):
        hand.go("form.heard button")
    for _ in range(most):
        if "That is the customer's part" in hand.window.page_source:
            return True
        question = hand.window.find_element(By.CSS_SELECTOR, "input[name=question]").get_attribute("value")
        value = CASE_PLAIN["answers"].get(question)
        wanted = f"fieldset.choices input[name='{question}'][value='{value}']"
        if value is not None and hand.window.find_elements(By.CSS_SELECTOR, wanted):
            hand.choose(wanted)
            hand.go("form .buttons button:not([name])")
        else:
            hand.go("button[name=how][value=unknown]")
        answered()
    return "That is the customer's part" in hand.window.page_source


def typed(hand, group, fields):
    """Open a group of readings, type into its fields and save it."""
    at = f"details:has([id='{next(iter(fields))}'])"
    if not hand.there(f"[id='{next(iter(fields))}']"):
        hand.choose(f"{at} > summary")
    for field, text in fields.items():
        hand.fill(f"[id='{field}']", text)
    hand.go(f"{at} > p > button")
    return group


def place(hand, name, word, end):
    hand.go(f"nav.places a[href='/job/{name}{end}']")
    assert hand.window.find_element(By.CSS_SELECTOR, "nav.places [aria-current]").text == word


def whole_job(hand, most_questions, bores, answered=lambda name: None):
    """Every place of a job, from new to closed; `bores` are the figures of the open engine, field by field."""
    name = begin(hand)
    ended = talk(hand, most_questions, lambda: answered(name))
    place(hand, name, "Test", "/readings")
    for reading in ("compression_dry", "compression_wet"):
        typed(
            hand,
            reading,
            {
                f"{reading}.{number}": text.removesuffix(" psi")
                for number, text in CASE_PLAIN["readings"][reading].items()
            },
        )
    place(hand, name, "Answer", "")
    hand.window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
    place(hand, name, "Promise", "/papers")
    for paper in ("quote", "letter", "order"):
        hand.go(f"main a[href='/job/{name}/{paper}']")
        hand.back_to(name, "/papers")
    hand.go(f"main a[href='/job/{name}/promises']")
    for _ in range(MOST_WAIVERS):
        if not hand.there("main a[href$='/waive']"):
            break
        hand.go("main a[href$='/waive']")
        for number in range(len(hand.window.find_elements(By.CSS_SELECTOR, "input[name=hold]"))):
            hand.choose(f"label:has(+ [id='why.{number + 1}']) input")
        hand.fill("#by", "A. Customer")
        hand.choose("input[name=how][value='by telephone']")
        hand.go("main form .buttons button")
        place(hand, name, "Promise", "/papers")
        hand.go(f"main a[href='/job/{name}/promises']")
    hand.fill("#promise", "first")
    hand.go("form[action*='/promises'] button")
    hand.go(f"main a[href='/job/{name}/changes/first']")
    yes(hand)
    place(hand, name, "Open", "/open")
    typed(hand, "bores", bores)
    place(hand, name, "Promise", "/papers")
    hand.go(f"main a[href='/job/{name}/changes/first']")
    assert "Needs the customer's yes" in hand.text()
    yes(hand)
    place(hand, name, "Prove", "/prove")
    for sheet in ("assembly", "proof"):
        hand.go(f"main a[href='/job/{name}/sheet/{sheet}']")
        hand.back_to(name, "/prove")
    hand.go(f"main a[href='/job/{name}/close']")
    hand.fill("#cost", "3240,50")
    hand.choose("input[name=came_back][value=no]")
    hand.go("main form button")
    hand.go("nav[aria-label=Main] a[href='/']")
    assert "CLOSED" in hand.text().upper()
    return name, ended


def yes(hand):
    hand.fill("#by", "A. Customer")
    hand.choose("form[action*='/approve'] input[name=how][value='by telephone']")
    hand.go("form[action*='/approve'] button")
