"""The room's page in a real browser: Debian's Chromium, without its window, driven by selenium."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import Select, WebDriverWait

CHROMIUM, DRIVER = Path("/usr/bin/chromium"), Path("/usr/bin/chromedriver")
FLAGS = (
    "--headless=new",
    "--no-sandbox",  # it refuses to run as root otherwise
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
WIDE, PHONE = (1280, 900), (390, 844)
SECONDS = 20


def open_browser(profile: Path) -> webdriver.Chrome:
    """A browser with its own empty profile. Both paths are given, so that selenium downloads nothing."""
    options = webdriver.ChromeOptions()
    options.binary_location = str(CHROMIUM)
    for flag in (*FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    return webdriver.Chrome(options=options, service=webdriver.ChromeService(str(DRIVER)))


class Page:
    """What somebody at the page does and sees. Each act waits until the page says that it is done."""

    def __init__(self, driver: webdriver.Chrome, address: str, size: tuple[int, int]) -> None:
        self._driver = driver
        width, height = size
        driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": size == PHONE},
        )
        driver.get(address)
        self._settle()

    def text(self) -> str:
        """All messages of the channel."""
        return self._driver.find_element(By.ID, "channel-message-list").text

    def see(self, words: str) -> None:
        """Wait until these words stand in a message."""
        self._wait(lambda: words in self.text(), f"no {words!r} among:\n{self.text()}")
        self._settle()

    def hear(self, text: str) -> str:
        """Send a message to the bot; the text of the card that answers it."""
        cards = "#channel-message-list .component-container"
        before = len(self._all(cards))
        self.say(text)
        self._wait(lambda: len(self._all(cards)) > before, f"no answer to {text!r}")
        return self._all(cards)[-1].text

    def reload(self) -> None:
        """Load the page again, which leads to where the terminal went."""
        self._driver.refresh()
        self._settle()

    def say(self, text: str) -> None:
        """Send a message."""
        self._box().send_keys(text, Keys.ENTER)
        self._settle()

    def ask(self, command: str, **options: str) -> None:
        """Run a slash command: pick it from the list, fill in its fields, send it."""
        self._box().send_keys("/" + command)
        self._wait(lambda: self._named(".command-entry strong", f"/{command}"), f"/{command} is not offered")
        self._click(lambda: self._named(".command-entry strong", f"/{command}")[0])
        for option, value in options.items():
            self._open_option(command, option)
            self._type(f'.command-option-input[data-option="{option}"]', value)
        send = self._driver.find_element(By.ID, "send-message")
        if send.is_displayed():
            send.click()
        else:  # a phone's page has no room for it beside the fields
            keys = (Keys.ENTER,) if options else (Keys.ESCAPE, Keys.ENTER)  # without the list of options
            self._driver.switch_to.active_element.send_keys(*keys)
        self._settle()

    def _open_option(self, command: str, option: str) -> None:
        """An option that may be left out has no field before it is picked from a list."""
        field = f'.command-option-input[data-option="{option}"]'
        listed = f'.command-suggestion[data-value="{option}"]'
        self._wait(lambda: self._all(field) or self._all(listed), f"/{command} has no {option}")
        if not self._all(field):
            self._click(lambda: self._all(listed)[0])
            self._wait(lambda: self._all(field), f"{option} cannot be filled in")

    def fill(self, typed: Mapping[str, str], picked: Mapping[str, str]) -> None:
        """Fill in the form that is open, and send it: fields by their names."""
        form = ".modal-dialog"
        self._wait(lambda: self._all(form), "no form is open")
        for name, value in typed.items():
            self._all(f'{form} input[name="{name}"]')[0].clear()
            self._type(f'{form} input[name="{name}"]', value)
        for name, value in picked.items():
            trigger = f'{form} [data-custom-id="{name}"] .select-trigger'
            self._click(lambda trigger=trigger: self._all(trigger)[0])
            option = f'{form} [data-custom-id="{name}"] .select-option[data-value="{value}"]'
            self._wait(lambda option=option: self._all(option)[0].is_displayed(), f"{name} does not open")
            self._click(lambda option=option: self._all(option)[0])
        self._click(lambda: self._named(f"{form} button", "Submit")[0])
        self._wait(lambda: not self._all(form), "the form stays open")
        self._settle()

    def pick(self, label: str) -> None:
        """Pick from the last list in the messages what is labelled so."""
        self._click(lambda: self._all("#channel-message-list .select-trigger")[-1])
        self._wait(lambda: self._named(".select-option .option-label", label), f"{label} is not in the list")
        self._click(lambda: self._named(".select-option .option-label", label)[0])
        self._settle()

    def pick_first(self) -> None:
        """Pick what stands first in the last list in the messages."""
        self._click(lambda: self._all("#channel-message-list .select-trigger")[-1])
        self._click(lambda: next(o for o in self._all(".select-option .option-label") if o.is_displayed()))
        self._settle()

    def sounds(self) -> list[float]:
        """How long the sounds in the messages are, in seconds, once the browser has decoded them."""
        script = "return [...document.querySelectorAll('#channel-message-list audio')].map(a => a.duration)"

        def decoded() -> bool:
            return all(isinstance(length, int | float) for length in self._driver.execute_script(script))

        self._wait(decoded, "a sound cannot be decoded")
        return list(self._driver.execute_script(script))

    def pictures(self) -> list[str]:
        """What the pictures in the messages that have come say in words."""
        script = "return [...document.querySelectorAll('#channel-message-list img')]"
        found = f"{script}.filter(img => img.naturalWidth > 200).map(img => img.alt)"
        return list(self._driver.execute_script(found))

    def buttons(self) -> list[str]:
        """The labels of all buttons in the messages, in order."""
        return [button.text for button in self._all("#channel-message-list button") if button.text]

    def press(self, label: str) -> None:
        """Press the last button of this label."""
        self._click(lambda: self._named("#channel-message-list button", label)[-1])
        self._settle()

    def look_as(self, name: str) -> None:
        """Change through whose eyes one looks."""
        Select(self._driver.find_element(By.ID, "viewer-picker")).select_by_visible_text(name)
        self._settle()

    def sideways_scroll(self) -> int:
        """By how many pixels the page is wider than the window."""
        script = "return document.documentElement.scrollWidth - window.innerWidth"
        return int(self._driver.execute_script(script))

    def picture(self, file: Path) -> None:
        """Save what the window shows."""
        self._driver.save_screenshot(str(file))

    def _type(self, selector: str, text: str) -> None:
        """Type into a field that is there."""

        def typed() -> bool:
            self._all(selector)[0].send_keys(text)
            return True

        self._wait(typed, f"{selector} does not stay")

    def _click(self, find: Callable[[], WebElement]) -> None:
        """Click it, found anew as long as the page draws itself again under the pointer."""

        def clicked() -> bool:
            find().click()
            return True

        self._wait(clicked, "what is to be clicked does not stay")

    def _box(self) -> WebElement:
        return self._driver.find_element(By.ID, "channel-composer-input")

    def _all(self, selector: str) -> list[WebElement]:
        return self._driver.find_elements(By.CSS_SELECTOR, selector)

    def _named(self, selector: str, text: str) -> list[WebElement]:
        return [element for element in self._all(selector) if element.text == text]

    def _status(self, path: str) -> object:
        return self._driver.execute_script(f"return window.simcordPreview?.{path}")

    def _settle(self) -> None:
        self._wait(lambda: self._status("ready") and not self._status("pendingAction"), "the page is busy")

    def _wait(self, check: Callable[[], object], otherwise: str) -> None:
        waiting = WebDriverWait(self._driver, SECONDS, 0.1, (StaleElementReferenceException,))
        waiting.until(lambda _: check(), otherwise)
