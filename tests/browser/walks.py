"""The ways of the roles through their pages. Each says what it saw; what is wrong, it raises."""

import re

from playwright.sync_api import expect

from daemon import ACCOUNTS, PASSWORD


def sign_in(case, role, path="/"):
    """Goes where it wants to go, is asked who it is, and gets there."""
    page, hand = case.page, case.hand
    page.goto(case.address + path)
    expect(page).to_have_url(re.compile(r"/sign-in"))
    case.look()
    give_account(hand, role)
    expect(page).to_have_url(case.address + path)
    expect(page.locator(".who")).to_contain_text(ACCOUNTS[role])


def give_account(hand, role):
    page = hand.page
    hand.fill(page.get_by_label("Account"), ACCOUNTS[role])
    hand.fill(page.get_by_label("Password"), PASSWORD)
    hand.press(page.get_by_role("button", name="Sign in"))


def sign_out(case):
    case.hand.press(case.page.get_by_role("button", name="Sign out"))
    expect(case.page).to_have_url(re.compile(r"/sign-in$"))
    case.page.goto(case.address + "/wall")
    expect(case.page).to_have_url(re.compile(r"/sign-in"))


def manager(case):
    """Reads the proposal, seeks, publishes, leaves."""
    page, hand, daemon = case.page, case.hand, case.daemon
    sign_in(case, "manager")
    published = daemon.ask("GET", "/plans/published")[0] == 200
    if published:
        # Something has happened since: another proposal, held against the published plan.
        last = daemon.ask("GET", "/standing")[2].get("proposal") or 0
        hand.press(page.get_by_role("button", name="Ask for a proposal"))
        number = daemon.proposal(after=last)
        page.reload()
        expect(page.locator("#proposal")).to_contain_text("against the published plan")
        expect(page.get_by_role("region", name="Totals of both plans")).to_contain_text("Late orders")
    else:
        number = daemon.proposal()
        page.reload()
        expect(page.locator("main")).to_contain_text("No plan is published")
    expect(page.locator("#proposal")).to_contain_text(f"Proposal {number}")
    case.look()

    hand.fill(page.get_by_label("Order, part, material"), "BR-101")
    hand.press(page.get_by_role("button", name="Show", exact=True))
    expect(page).to_have_url(re.compile(r"[?&]q=BR-101"))
    runs = page.locator("section[aria-labelledby=runs] tbody tr")
    found = runs.count()
    assert found > 0, "the search finds nothing"
    for text in runs.all_text_contents():
        assert "BR-101" in text, f"the search also finds {text}"
    page.reload()
    expect(page.get_by_label("Order, part, material")).to_have_value("BR-101")
    expect(runs).to_have_count(found)
    hand.press(page.get_by_role("link", name="Show everything"))
    expect(page).to_have_url(case.address + "/")

    case.watch.questions.append(f"Publish proposal {number}?")
    hand.press(page.get_by_role("button", name=f"Publish proposal {number}"))
    expect(page.locator("main")).to_contain_text(f"Plan {number}")
    expect(page.locator("main")).to_contain_text(f"by {ACCOUNTS['manager']}")
    assert daemon.must("GET", "/standing")[1]["published"] == number
    case.look()
    sign_out(case)


def pins(case):
    """Ties an order to a brake and a place, sees what it would change, does it, and takes it back."""
    page, hand, daemon = case.page, case.hand, case.daemon
    sign_in(case, "manager")
    # A run that is bent on the next day is drawn by its change alone. By keyboard the way to the link leads over
    # all that come after a run, and the last of all is the one the link speaks of.
    drawn = ":has(rect.run)" if case.by == "mouse" else ""
    offered = page.locator(f".chart a[data-order]{drawn}")
    order = offered.last.get_attribute("data-order")
    # Another brake that can bend it, and no matter what it would cost there.
    plan = daemon.must("GET", "/plans/published")[1]
    now = next(line["brake"] for line in plan["brakes"] if any(run["order"] == order for run in line["runs"]))
    to = now
    if case.by == "keyboard":
        # A run of the chart has the focus; the link below the chart opens the form.
        hand.tab_to(offered.last)
        hand.press(page.locator("#pin-this a"))
        expect(page).to_have_url(re.compile(f"pin={order}.*#pin$"))
    elif case.by == "mouse":
        to, place = drag(case, offered.last, now)
        expect(page).to_have_url(re.compile(f"pin={order}&to={to}&place={place}#pin$"))
        expect(page.locator("form.pin").get_by_label("Brake")).to_have_value(to)
    else:
        hand.fill(page.get_by_label("Order to pin"), order)
        hand.press(page.get_by_role("button", name="Choose brake and place"))
        expect(page).to_have_url(re.compile(f"pin={order}#pin$"))
    form = page.locator("form.pin")
    expect(page.locator("#pin")).to_contain_text(f"Tie order {order} to a brake")
    case.look()
    do = form.get_by_role("button", name="Pin it there")
    expect(do).to_be_disabled()
    if case.by != "mouse":
        hand.choose(form.get_by_label("Brake"), to)
        hand.fill(form.get_by_label("Place"), "1")
    hand.press(form.get_by_role("button", name="See what it would change"))
    expect(form.locator(".told")).to_contain_text(f"{order} would", timeout=60_000)
    expect(form.locator(".told")).to_contain_text("Late orders:")
    case.look()
    assert "pin" not in daemon.must("GET", f"/orders/{order}")[1], "asking has pinned it"
    hand.press(do)
    expect(page.locator("#pin")).to_contain_text(f"It is pinned to {to}, place 1.")
    assert daemon.must("GET", f"/orders/{order}")[1]["pin"] == {"brake": to, "place": 1}
    expect(page.locator("section[aria-labelledby=tied]")).to_contain_text(f"{order}: {to}, place 1")
    case.look()
    case.watch.questions.append("Take the pin away?")
    hand.press(page.get_by_role("button", name="Take the pin away"))
    expect(page.locator("#pin")).to_contain_text("It is not pinned.")
    assert "pin" not in daemon.must("GET", f"/orders/{order}")[1]
    hand.press(page.locator("#pin").get_by_role("link", name="Close"))
    expect(page.locator("#pin")).to_have_count(0)
    sign_out(case)


def drag(case, run, now):
    """Drags a run of the chart to the beginning of another brake's row, before all that is there."""
    page = case.page
    run.locator("rect.run").first.scroll_into_view_if_needed()
    bar = run.locator("rect.run").first.bounding_box()
    row = page.locator(f".chart g[data-brake]:not([data-brake={now}])").first
    to = row.get_attribute("data-brake")
    box = row.locator("rect.row").bounding_box()
    x, y = bar["x"] + min(bar["width"] / 2, 10), bar["y"] + bar["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 20, y - 10, steps=4)
    page.mouse.move(box["x"] + 2, box["y"] + box["height"] / 2, steps=8)
    expect(row.locator("rect.row.target")).to_have_count(1)
    page.mouse.up()
    return to, 1


def heading(case, text):
    expect(case.page.locator("section.now h2")).to_contain_text(text)


def button(case, name):
    return case.page.locator("form.send").get_by_role("button", name=name)


def start_run(case):
    """From whatever comes next to a run that has begun."""
    hand = case.hand
    for _ in range(4):
        takedown = button(case, re.compile("^Tools off for"))
        if takedown.count() == 0:
            break
        words = takedown.first.text_content()
        hand.press(takedown.first)
        expect(button(case, words)).to_have_count(0)
    begin = button(case, "Start changeover")
    if begin.count():
        hand.press(begin)
        heading(case, "Changing over for")
        case.look()
        hand.press(button(case, "Changeover done"), key="Space")
        heading(case, "Nothing runs")
    hand.press(button(case, re.compile("^Start run")))
    heading(case, "Bending")


def focus_stays(case):
    """Whoever works by keyboard keeps their place when the page follows what happens elsewhere."""
    page, daemon = case.page, case.daemon
    begin = button(case, re.compile("^Start")).first
    case.hand.tab_to(begin)
    place = begin.text_content()
    before = page.locator("body > main").get_attribute("data-event")
    # Something that changes nothing on this page but the number of the last event.
    headers, policy = daemon.must("GET", "/policy")
    daemon.must("PUT", "/policy", policy | {"quiet_seconds": policy["quiet_seconds"] - 1}, If_Match=headers["ETag"])
    expect(page.locator("body > main")).not_to_have_attribute("data-event", before)
    kept = page.evaluate("document.activeElement.textContent")
    if kept != place:
        case.watch.fault(f"the focus was on {place!r}; after a refresh it is on {kept.strip()[:60]!r}")


def clear(case):
    """As the floor was described, a brake may be down or in the middle of a run."""
    up, done = button(case, "Can be used again"), button(case, re.compile("^Done: all"))
    if up.count():
        case.look()
        case.watch.questions.append(f"Is {case.brake} safe to use again?")
        case.hand.press(up)
        expect(up).to_have_count(0)
    if done.count():
        case.look()
        case.hand.press(done)
    heading(case, "Nothing runs")


def lead(case):
    """Sets up, bends, pauses, counts, ends, reports the brake down, and is cut off for a while."""
    page, hand, brake = case.page, case.hand, case.brake
    sign_in(case, "lead", f"/brakes/{brake}")
    clear(case)
    case.look()
    if case.by == "keyboard":
        focus_stays(case)
    start_run(case)
    case.look()

    hand.fill(page.get_by_label("Why (may stay empty)"), "waiting for blanks")
    hand.press(button(case, "Pause"))
    heading(case, "is paused")
    expect(page.locator("section.now")).to_contain_text("waiting for blanks")
    case.look()
    hand.press(button(case, "Go on"))
    heading(case, "Bending")

    offline(case)

    count = page.locator("form.send", has=page.get_by_role("button", name="Count so far"))
    hand.fill(count.get_by_label("Good"), "3")
    hand.fill(count.get_by_label("Spoiled"), "1")
    hand.press(button(case, "Count so far"))
    expect(page.locator("section.now")).to_contain_text(re.compile(r"3 of \d+ good, 1 spoiled"))

    if case.by == "keyboard":
        hand.press(button(case, re.compile("^Done: all")))
    else:
        case.watch.questions.append("End the run although pieces are missing?")
        hand.press(button(case, "End short"))
    heading(case, "Nothing runs")

    hand.press(page.locator("#problem summary"))
    hand.choose(page.get_by_label("Down for about"), "4 hours")
    hand.fill(page.get_by_label("What is wrong"), "oil under the ram")
    case.watch.questions.append(f"Report {brake} down?")
    case.look()
    hand.press(button(case, "Report down"))
    heading(case, "Down.")
    expect(page.locator("main")).to_contain_text("oil under the ram")
    case.look()
    case.watch.questions.append(f"Is {brake} safe to use again?")
    hand.press(button(case, "Can be used again"))
    heading(case, "Nothing runs")
    expect(page.locator("section.now h2")).not_to_contain_text("Down")
    sign_out(case)


def offline(case):
    """A page without a connection says so and can be read; a report that did not get away counts once."""
    page, hand, context = case.page, case.hand, case.page.context
    # Looked at twice, so that the browser has it.
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    heading(case, "Bending")
    last = case.daemon.must("GET", "/events?limit=1")[1]["last"]
    case.watch.expected.append(r"ERR_INTERNET_DISCONNECTED|ERR_NETWORK_CHANGED")
    context.set_offline(True)
    net = page.locator("#net")
    expect(net).to_be_visible()
    expect(net).to_contain_text("No connection")
    heading(case, "Bending")
    case.look()
    page.reload()
    heading(case, "Bending")
    expect(net).to_be_visible()
    expect(net).to_contain_text(re.compile(r"what was known at \d\d:\d\d"))
    hand.press(button(case, "Pause"))
    expect(page.locator("form.send .said.refused")).to_contain_text("Not known whether it arrived")
    context.set_offline(False)
    expect(net).to_be_hidden(timeout=15_000)
    hand.press(button(case, "Pause"))
    heading(case, "is paused")
    hand.press(button(case, "Go on"))
    heading(case, "Bending")
    told = case.daemon.must("GET", f"/events?after={last}&limit=1000")[1]["events"]
    kinds = [one["kind"] for one in told if one["what"].get("brake") == case.brake]
    assert kinds.count("run-paused") == 1, f"a pause pressed twice gave {kinds}"
    case.watch.expected.pop()


def viewer(case):
    """Reads everything and can press nothing."""
    page = case.page
    sign_in(case, "viewer", "/wall")
    for path in ("/", "/?day=2027-03-23", f"/brakes/{case.brake}", "/wall"):
        page.goto(case.address + path)
        expect(page.locator("form.send")).to_have_count(0)
        expect(page.locator("h1")).to_be_visible()
    sign_out(case)


def estimator(case):
    """Asks when a job would be done, for a part of the shop and for a rough description."""
    page, hand = case.page, case.hand
    sign_in(case, "estimator", "/quote")
    expect(page.get_by_role("button", name=re.compile("^(Publish|Start|Report)"))).to_have_count(0)
    case.look()
    hand.fill(page.get_by_label("Part", exact=True), "BR-101")
    hand.fill(page.get_by_label("Pieces"), "40")
    hand.press(page.get_by_role("button", name="Ask", exact=True))
    answered(case)
    expect(page).to_have_url(re.compile("part=BR-101"))
    expect(page.get_by_label("Pieces")).to_have_value("40")
    case.look()

    hand.press(page.get_by_role("link", name="Ask anew"))
    expect(page).to_have_url(case.address + "/quote")
    for label, text in (("Bends", "2"), ("Blank along the bends", "300"), ("Blank across the bends", "150"),
                        ("Thickness", "2"), ("Material", "DC01"), ("Pieces", "25")):
        hand.fill(page.get_by_label(re.compile(f"^{label}")), text)
    hand.press(page.get_by_role("button", name="Ask", exact=True))
    answered(case)

    hand.fill(page.get_by_label("Thickness"), "thin")
    hand.press(page.get_by_role("button", name="Ask", exact=True))
    expect(page.get_by_role("alert").filter(has_text="No answer")).to_be_visible()
    expect(page.get_by_label("Thickness")).to_have_value("thin")
    case.look()

    # Lengths in inches, where they can be chosen, on every page from then on.
    hand.press(page.get_by_role("button", name="Show lengths in inches"))
    expect(page.get_by_label(re.compile("^Thickness, in"))).to_be_visible()
    page.goto(f"{case.address}/brakes/{case.brake}")
    expect(page.locator("svg.bed").first).to_contain_text(re.compile(r"\d\.\d+ in"))
    hand.press(page.get_by_role("button", name="Show lengths in millimetres"))
    expect(page.locator("svg.bed").first).to_contain_text(" mm")
    sign_out(case)


def answered(case):
    expect(case.page.locator("main")).to_contain_text("80 %", timeout=60_000)
    assert case.page.get_by_role("alert").filter(has_text="No answer").count() == 0


def wall(case):
    """A screen on the wall sees, without loading again, that a run starts elsewhere."""
    page, daemon = case.page, case.daemon
    page.goto(case.address + "/wall")
    tile = page.locator(f"section[aria-labelledby='tile-{case.brake}']")
    expect(tile.locator(".word")).to_have_text("Idle")
    page.evaluate("window.sameLoad = true")
    plan = daemon.must("GET", "/plans/published")[1]
    headers, _ = daemon.must("GET", f"/brakes/{case.brake}")
    line = next(line for line in plan["brakes"] if line["brake"] == case.brake)
    run = line["runs"][0]["run"]
    daemon.must("POST", f"/brakes/{case.brake}/run/start", {"run": run}, If_Match=headers["ETag"])
    expect(tile.locator(".word")).to_have_text("Bending", timeout=5_000)
    assert page.evaluate("window.sameLoad") is True, "the page was loaded again"
    case.look()
    headers, _ = daemon.must("GET", f"/brakes/{case.brake}")
    daemon.must("POST", f"/brakes/{case.brake}/run/pause", {"why": "tool check"}, If_Match=headers["ETag"])
    expect(tile.locator(".word")).to_have_text("Paused", timeout=5_000)
    expect(tile).to_contain_text("tool check")
