"""Runs every case, prints what was checked and how long it took, and fails on any fault."""

import argparse
import shutil
import sys
import tempfile
import time
import traceback
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from playwright.sync_api import sync_playwright

import hostile
import walks
import weight
from daemon import TINY, Daemon, thousand
from watch import Hand, Watch

SIZES = {
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
    "tablet": {"viewport": {"width": 820, "height": 1180}, "has_touch": True, "is_mobile": True},
    "desktop": {"viewport": {"width": 1440, "height": 900}},
    "wall": {"viewport": {"width": 1920, "height": 1080}},
}
BOTH = ("light", "dark")

# The roles' ways: role, way, brake, size, theme, and what it is done with. The first publishes, the
# last does so again when the floor has changed; no two report from one brake.
WAYS = [
    ("manager", walks.manager, "", "desktop", "light", "keyboard"),
    ("manager", walks.pins, "", "desktop", "dark", "keyboard"),
    ("manager", walks.pins, "", "desktop", "light", "mouse"),
    ("manager", walks.pins, "", "tablet", "light", "touch"),
    ("lead", walks.lead, "B1", "phone", "light", "touch"),
    ("lead", walks.lead, "B2", "tablet", "dark", "touch"),
    ("lead", walks.lead, "B3", "desktop", "dark", "keyboard"),
    ("lead", walks.lead, "B5", "desktop", "light", "mouse"),
    ("viewer", walks.wall, "B4", "wall", "dark", "mouse"),
    ("viewer", walks.viewer, "B4", "tablet", "light", "touch"),
    ("estimator", walks.estimator, "B4", "desktop", "light", "keyboard"),
    ("estimator", walks.estimator, "B4", "phone", "dark", "touch"),
    ("manager", walks.manager, "", "phone", "dark", "touch"),
]

# Pages that are looked at as they stand: role, address, size, theme. Operators' pages are looked at
# in every state on their ways as well.
LOOKS = [
    (role, path, size, theme)
    for role, path, sizes in [
        ("manager", "/?plan=proposal", ("desktop", "phone")),
        ("manager", "/?day=2027-03-23", SIZES),
        ("manager", "/?q=BR-101&all=yes", ("tablet",)),
        ("lead", "/brakes/B4", SIZES),
        ("estimator", "/quote", ("tablet", "wall")),
        ("viewer", "/brakes/B1", ("tablet", "wall")),
        ("viewer", "/wall", SIZES),
        ("viewer", "/brakes/none", ("phone",)),
        ("", "/sign-in", SIZES),
    ]
    for size in sizes
    for theme in BOTH
]


class Case:
    """One page of one browser, with everything it says."""

    def __init__(self, desk, name, daemon, role, size, theme, by, brake="", known=True):
        self.name, self.daemon, self.by, self.brake = name, daemon, by, brake
        self.address, self.size = daemon.address, size
        self.width = SIZES[size]["viewport"]["width"]
        state = desk.signed_in(daemon, role) if known and role else None
        self.context = desk.browser.new_context(
            **SIZES[size], color_scheme=theme, storage_state=state, locale="en-GB",
            reduced_motion="reduce",
        )
        self.context.set_default_timeout(10_000)
        self.watch = Watch(self.context, self.address)
        self.page = self.context.new_page()
        self.hand = Hand(self.page, by, self.watch)
        self.rules = 0
        self.looks = 0
        self.note = ""

    def look(self):
        floor = "/brakes/" in self.page.url and self.size in ("phone", "tablet")
        self.rules = self.watch.look(self.page, self.width, floor)
        self.looks += 1


class Desk:
    """Runs cases and keeps what came of them."""

    def __init__(self, browser, folder, wanted):
        self.browser, self.folder, self.wanted = browser, folder, wanted
        self.cookies = {}
        self.ran = 0
        self.faults = []

    def signed_in(self, daemon, role):
        """A session of a role, signed in once: the daemon holds back those who try too often."""
        if daemon.token is None:
            return None
        if role not in self.cookies:
            context = self.browser.new_context()
            page = context.new_page()
            page.goto(f"{daemon.address}/sign-in")
            walks.give_account(Hand(page, "mouse", None), role)
            page.wait_for_url(f"{daemon.address}/")
            self.cookies[role] = context.storage_state()
            context.close()
        return self.cookies[role]

    def wants(self, name):
        return all(word in name for word in self.wanted)

    def run(self, name, what, daemon, role, size, theme, by, brake="", known=True):
        if not self.wants(name):
            return
        began = time.monotonic()
        case = Case(self, name, daemon, role, size, theme, by, brake, known)
        try:
            what(case)
        except Exception as error:  # Whatever a case dies of is its fault; the others go on.
            place = next(
                (f"{Path(f.filename).name}:{f.lineno}" for f in reversed(traceback.extract_tb(error.__traceback__))
                 if Path(f.filename).parent == Path(__file__).parent), "")
            case.watch.fault(f"{place}: {str(error).strip()[:700]}")
        faults = case.watch.faults
        shot = ""
        if faults:
            shot = self.folder / f"{self.ran:03}.png"
            try:
                case.page.screenshot(path=shot, full_page=True)
            except Exception as error:
                shot = f"no screenshot: {error}"
        case.context.close()
        self.ran += 1
        took = time.monotonic() - began
        row = f"{name:<52} {case.looks:>5} {case.rules:>5} {case.watch.requests:>8} {took:>6.1f}  {case.note}"
        print(row.rstrip(), "  FAULT" if faults else "", sep="", flush=True)
        for text in faults:
            print(f"    {text}")
        if faults:
            print(f"    screenshot: {shot}", flush=True)
            self.faults.append(name)


def look(path):
    def case_of(case):
        if path == "/brakes/none":
            case.watch.expected.append("status of 404")
        case.page.goto(case.address + path)
        case.page.locator("h1").wait_for()
        case.look()

    return case_of


def all_cases(desk, shop, evil, heavy):
    head = f"{'case':<52} {'looks':>5} {'rules':>5} {'requests':>8} {'s':>6}"
    print(head, "-" * len(head), sep="\n")
    evil.publish(evil.proposal())
    for path in hostile.PAGES:
        for theme, size in zip(BOTH, ("desktop", "phone")):
            desk.run(f"hostile {path} {size}", hostile.inert(path), evil, "", size, theme, "mouse")
    desk.run("hostile reports desktop", hostile.reports, evil, "", "desktop", "light", "mouse")
    evil.stop()

    heavy.proposal()
    for size in ("desktop", "phone"):
        desk.run(f"thousand orders, first view, {size}", weight.first_view, heavy, "", size, "light", "mouse")
    heavy.stop()

    shop.proposal()
    shop.people()
    # The floor's reports would have a proposal made each few seconds; the last way asks for its own.
    shop.quiet(3600)
    for role, way, brake, size, theme, by in WAYS:
        name = f"{role} {way.__name__} {brake} {size} {theme} {by}".replace("  ", " ")
        if way is walks.manager and by != "keyboard":
            for role_of, path, size_of, theme_of in LOOKS:
                said = f"look {role_of or 'nobody'} {path} {size_of} {theme_of}"
                desk.run(said, look(path), shop, role_of, size_of, theme_of, "mouse")
        desk.run(name, way, shop, role, size, theme, by, brake, known=way is walks.wall)
        if shop.ask("GET", "/plans/published")[0] == 404:
            # The manager's way was left out, or has failed; the others need a plan all the same.
            shop.publish(shop.proposal())
    shop.stop()


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--program", required=True)
    words.add_argument("--browser", required=True)
    words.add_argument("only", nargs="*", help="words that the names of cases must contain")
    asked = words.parse_args()
    began = time.monotonic()
    folder = Path(tempfile.mkdtemp(prefix="brakewright-browser-"))
    shop = Daemon(asked.program, folder, "shop")
    evil = Daemon(asked.program, folder, "hostile", seconds=1, shop=TINY)
    heavy = Daemon(asked.program, folder, "thousand", seconds=1)
    hostile.fill(evil.files)
    thousand(heavy.files)
    faults = []
    try:
        with sync_playwright() as playwright:
            with ThreadPoolExecutor() as pool:
                for ready in [pool.submit(one.start) for one in (evil, heavy, shop)]:
                    ready.result()
            browser = playwright.chromium.launch(
                executable_path=asked.browser,
                headless=True,
                # Whatever asks another host gets no answer, and is seen.
                args=["--no-sandbox", "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"],
            )
            print(f"Chromium {browser.version}")
            desk = Desk(browser, folder, asked.only)
            all_cases(desk, shop, evil, heavy)
            faults = desk.faults
            browser.close()
    finally:
        for daemon in (shop, evil, heavy):
            daemon.stop()
            faults += [f"daemon {daemon.name}: {text}" for text in daemon.faults]
    print(f"{desk.ran} cases in {time.monotonic() - began:.0f} s, {len(faults)} with faults")
    if desk.ran == 0:
        faults.append("no case has a name with these words")
    for text in faults:
        print(f"fault: {text}")
    if faults:
        print(f"pictures and logs are in {folder}")
        return 1
    shutil.rmtree(folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
