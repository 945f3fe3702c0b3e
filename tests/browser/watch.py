"""What is watched while a page is open, and what is looked for on it."""

import re
from pathlib import Path
from urllib.parse import urlsplit

import axe_playwright_python

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text()

# CSS pixels: 44 is target size of WCAG 2.2, 2.5.5 (AAA), for gloves on the floor.
TARGET = 44

# All rules of the checker but those of level AAA and those it has given up itself.
RULES = """() => axe.getRules()
  .filter((rule) => !rule.tags.some((tag) => tag.endsWith("aaa") || tag === "deprecated"))
  .map((rule) => rule.ruleId)"""

CHECK = """async (rules) => {
  const told = await axe.run(document, {
    runOnly: { type: "rule", values: rules }, resultTypes: ["violations"],
  });
  return told.violations.map((one) => ({
    rule: one.id, help: one.help, places: one.nodes.length,
    first: one.nodes[0].html.slice(0, 160), why: one.nodes[0].failureSummary,
  }));
}"""

TARGETS = """(least) => {
  const small = [];
  const all = document.querySelectorAll("a[href], button, input, select, textarea, summary");
  for (const one of all) {
    if (one.type === "hidden" || one.matches(".skip") || !one.checkVisibility()) continue;
    // A link within a sentence may be as high as its line (2.5.5, inline).
    const inline = getComputedStyle(one).display === "inline";
    const text = one.parentElement.textContent.trim();
    if (one.matches("a") && inline && text !== one.textContent.trim()) continue;
    const box = (one.matches("input[type=checkbox]") && one.closest("label") || one).getBoundingClientRect();
    if (box.width < least - 0.01 || box.height < least - 0.01) {
      small.push(`${one.outerHTML.slice(0, 90)} is ${box.width.toFixed(1)} × ${box.height.toFixed(1)}`);
    }
  }
  const more = small.length > 3 ? [`and ${small.length - 3} more`] : [];
  return [...small.slice(0, 3), ...more];
}"""

# Whatever would scroll the page sideways, the outermost first.
WIDE = """(width) => {
  const wide = document.documentElement.scrollWidth;
  if (wide <= width) return [];
  const past = [...document.querySelectorAll("body *")]
    .filter((one) => !one.parentElement.closest(".scroll") && one.getBoundingClientRect().right > width + 0.5);
  return [`${wide} px wide`, ...past.slice(0, 3).map((one) => one.outerHTML.slice(0, 90))];
}"""

FOCUSED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const box = one.getBoundingClientRect();
  const style = getComputedStyle(one);
  let shown = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  // Within the parts of a date the browser itself shows where one is.
  if (["date", "datetime-local"].includes(one.type)) shown = true;
  if (!shown && one.closest("svg")) {
    shown = [...one.querySelectorAll("rect.run, rect.change")].some((bar) => parseFloat(getComputedStyle(bar).strokeWidth) >= 3)
      || [...one.querySelectorAll("text")].some((text) => getComputedStyle(text).textDecorationLine.includes("underline"));
  }
  const seen = box.bottom > 0 && box.top < innerHeight && box.width > 0;
  return { shown, seen, html: one.outerHTML.slice(0, 120) };
}"""


class Watch:
    """Hears everything a browser's context says, and keeps what is a fault."""

    def __init__(self, context, address):
        self.host = urlsplit(address).netloc
        self.faults = []
        self.expected = []
        self.questions = []
        self.requests = 0
        context.on("console", self.console)
        context.on("weberror", lambda error: self.faults.append(f"page error: {error.error}"))
        context.on("request", self.request)
        context.on("dialog", self.dialog)

    def console(self, said):
        if said.type not in ("error", "warning"):
            return
        if any(re.search(pattern, said.text) for pattern in self.expected):
            return
        where = said.location.get("url", "") if isinstance(said.location, dict) else ""
        self.fault(f"console {said.type}: {said.text} {where}".strip())

    def request(self, request):
        self.requests += 1
        parts = urlsplit(request.url)
        if parts.scheme in ("data", "blob", "about"):
            return
        if parts.netloc != self.host:
            self.fault(f"request to another host: {request.url}")

    def dialog(self, dialog):
        """Says yes to the question that was announced, and no to any other."""
        if self.questions and self.questions[0] in dialog.message:
            self.questions.pop(0)
            dialog.accept()
            return
        self.fault(f"unexpected dialog: {dialog.message}")
        dialog.dismiss()

    def fault(self, text):
        if text not in self.faults:
            self.faults.append(text)

    def look(self, page, width, targets):
        """Holds the page as it stands to accessibility, width and sizes of targets."""
        if not page.evaluate("typeof axe !== 'undefined'"):
            page.evaluate(AXE)
        rules = page.evaluate(RULES)
        at = urlsplit(page.url).path
        for one in page.evaluate(CHECK, rules):
            why = " ".join(one["why"].split())
            self.fault(f"{at}: {one['rule']} ({one['places']}): {one['first']} -- {why}")
        for one in page.evaluate(WIDE, width):
            self.fault(f"{at}: scrolls sideways: {one}")
        if targets:
            for one in page.evaluate(TARGETS, TARGET):
                self.fault(f"{at}: target too small: {one}")
        return len(rules)


class Hand:
    """Uses a page by mouse, by touch, or by keyboard alone."""

    def __init__(self, page, by, watch):
        self.page, self.by, self.watch = page, by, watch

    def press(self, what, key="Enter"):
        if self.by == "keyboard":
            self.tab_to(what)
            self.page.keyboard.press(key)
        elif self.by == "touch":
            what.tap()
        else:
            what.click()

    def fill(self, what, text):
        if self.by == "keyboard":
            self.tab_to(what)
            self.page.keyboard.press("Control+a")
            self.page.keyboard.type(text)
        else:
            self.press(what)
            what.fill(text)

    def choose(self, what, starts):
        """Chooses the option of a list whose words begin so."""
        if self.by == "keyboard":
            self.tab_to(what)
            self.page.keyboard.type(starts)
        else:
            value = what.locator("option", has_text=re.compile(f"^{re.escape(starts)}")).first
            what.select_option(value.get_attribute("value"))

    def tab_to(self, what, most=200):
        """Presses Tab until `what` has the focus; every stop must be seen."""
        what.wait_for(state="visible")
        for _ in range(most):
            if what.evaluate("(one) => one === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
            stop = self.page.evaluate(FOCUSED)
            if stop and not (stop["shown"] and stop["seen"]):
                self.watch.fault(f"focus is not seen on {stop['html']}")
        raise AssertionError(f"Tab does not reach {what}")
