"""The room's page in a real browser: Debian's Chromium, without its window, driven by selenium."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from selenium import webdriver
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
        self._named(".command-entry strong", f"/{command}")[0].click()
        field = None
        for option, value in options.items():
            wanted = f'.command-option-input[data-option="{option}"]'
            if not self._all(wanted):  # an option that may be left out is picked from a list first
                listed = f'.command-suggestion[data-value="{option}"]'
                self._wait(lambda listed=listed: self._all(listed), f"/{command} has no {option}")
                self._all(listed)[0].click()
                self._wait(lambda wanted=wanted: self._all(wanted), f"{option} cannot be filled in")
            field = self._all(wanted)[0]
            field.send_keys(value)
        send = self._driver.find_element(By.ID, "send-message")
        if field is None or send.is_displayed():
            send.click()
        else:  # a phone's page has no room for it beside the fields
            field.send_keys(Keys.ENTER)
        self._settle()

    def buttons(self) -> list[str]:
        """The labels of all buttons in the messages, in order."""
        return [button.text for button in self._all("#channel-message-list button") if button.text]

    def press(self, label: str) -> None:
        """Press the last button of this label."""
        self._named("#channel-message-list button", label)[-1].click()
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
        WebDriverWait(self._driver, SECONDS, 0.1).until(lambda _: check(), otherwise)
