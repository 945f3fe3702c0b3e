"""Texts that would do harm if a page took them for markup, in every place that takes free text."""

import json
import re

from playwright.sync_api import expect

from daemon import rewrite

HARM = [
    "<script>window.harm=1</script>",
    '"><img src=x onerror=window.harm=1>',
    "'><svg onload=window.harm=1>",
    "javascript:window.harm=1",
    "=cmd|'/C x'!A0",
    "</title></textarea><iframe srcdoc=x>&lt;b&gt;",
]
TEXT = " ".join(HARM)
# The longest that a field of a page takes.
LINE = TEXT[:200]

PAGES = [
    "/",
    "/?plan=proposal&all=yes",
    "/?q=%3Cscript%3Ewindow.harm%3D1%3C%2Fscript%3E%22%3E%3Cimg%20src%3Dx%20onerror%3Dwindow.harm%3D1%3E",
    "/?day=%22%3E%3Csvg%20onload%3Dwindow.harm%3D1%3E&brake=%22%3E%3Cimg%20src%3Dx%20onerror%3Dwindow.harm%3D1%3E",
    "/brakes/B1",
    "/brakes/B1?run=%3Cscript%3Ewindow.harm%3D1%3C%2Fscript%3E",
    "/brakes/%3Cimg%20src%3Dx%20onerror%3Dwindow.harm%3D1%3E",
    "/quote?part=%3Cscript%3Ewindow.harm%3D1%3C%2Fscript%3E&quantity=5",
    "/quote?quantity=%22%3E%3Cimg%20src%3Dx%20onerror%3Dwindow.harm%3D1%3E&material=%22%3E%3Csvg%20onload%3Dwindow.harm%3D1%3E",
    "/wall",
    "/sign-in?next=javascript%3Awindow.harm%3D1",
    "/sign-in?next=%22%3E%3Cscript%3Ewindow.harm%3D1%3C%2Fscript%3E",
]

# Nothing of this kind is on a page of ours, wherever it would come from.
MADE = """() => [...document.querySelectorAll(
    "body script, img, iframe, object, embed, base, [srcdoc], [onerror], [onload], [onclick]"
  )].map((one) => one.outerHTML.slice(0, 120))
  .concat([...document.querySelectorAll("[href], [action], [src]")]
    .filter((one) => /^\\s*(javascript|data|vbscript):/i.test(
      one.getAttribute("href") || one.getAttribute("action") || one.getAttribute("src") || ""))
    .map((one) => one.outerHTML.slice(0, 120)))"""


def fill(files):
    """Puts the texts into a tiny shop's folder wherever it takes words."""

    def orders(rows):
        return [row | {"reference": TEXT, "heat": "", "kit": ""} for row in rows]

    rewrite(files / "work-orders.csv", orders, more=("reference", "heat", "kit"))
    rewrite(files / "parts.csv", lambda rows: [row | {"name": TEXT} for row in rows])
    for name, old in (("shop.toml", "Tiny shop"), ("brakes.toml", "the only brake")):
        path = files / name
        text = path.read_text()
        assert f'name = "{old}"' in text
        path.write_text(text.replace(f'name = "{old}"', f"name = {json.dumps(TEXT)}"))


def inert(path):
    def case_of(case):
        if path.startswith("/brakes/%3C"):
            case.watch.expected.append("status of 404")
        case.page.goto(case.address + path)
        case.page.locator("h1").wait_for()
        harmless(case)
        if path == "/":
            expect(case.page.locator("main")).to_contain_text(HARM[0])
        case.look()
        tables(case)

    return case_of


def harmless(case):
    assert case.page.evaluate("window.harm") is None, "a text was run"
    made = case.page.evaluate(MADE)
    assert not made, f"a text became an element: {made}"


def tables(case):
    """What pages offer to take along must not be taken for a formula by a spreadsheet."""
    for link in case.page.locator("a[download], a[href*='.csv']").all():
        href = link.get_attribute("href")
        told = case.context.request.get(case.address + href)
        assert told.ok, f"{href} answers {told.status}"
        for cell in re.split(r"[,\n]", told.text()):
            assert not re.match(r'"?[=+@\t\r]', cell), f"{href} has a formula: {cell[:80]}"


def reports(case):
    """The same texts as reasons from the floor and in a folder that cannot be read."""
    page, hand = case.page, case.hand
    page.goto(case.address + "/brakes/B1")
    hand.press(page.get_by_role("button", name=re.compile("^Start run")))
    expect(page.locator("section.now h2")).to_contain_text("Bending")
    hand.fill(page.get_by_label("Why (may stay empty)"), LINE)
    hand.press(page.get_by_role("button", name="Pause"))
    expect(page.locator("section.now")).to_contain_text(LINE)
    everywhere(case, LINE, "/wall")
    page.goto(case.address + "/brakes/B1")
    hand.press(page.locator("#problem summary"))
    hand.fill(page.get_by_label("What is wrong"), LINE)
    case.watch.questions.append("Report B1 down?")
    hand.press(page.get_by_role("button", name="Report down"))
    expect(page.locator("section.now h2")).to_contain_text("Down.")
    everywhere(case, LINE, "/wall")

    def broken(rows):
        rows[0] |= {"quantity": TEXT, "part": TEXT, "due": TEXT}
        return rows

    rewrite(case.daemon.files / "work-orders.csv", broken)
    # A folder that cannot be taken is no event; pages see it when they are next loaded.
    for _ in range(40):
        page.goto(case.address + "/")
        if page.locator(".findings").count():
            break
        page.wait_for_timeout(250)
    expect(page.locator("main")).to_contain_text("work-orders.csv")
    everywhere(case, HARM[0], "/")


def everywhere(case, text, shown):
    for path in ("/", "/brakes/B1", "/wall"):
        case.page.goto(case.address + path)
        case.page.locator("h1").wait_for()
        harmless(case)
        if path == shown:
            expect(case.page.locator("main")).to_contain_text(text)
        case.look()
