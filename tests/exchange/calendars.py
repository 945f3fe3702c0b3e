"""Calendars of a plan are read by another library and held against the plan; holidays that the library
writes are read back, and expanded a second time by its rules; then some are spoilt."""

import argparse
import datetime
import json
import random
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import icalendar
from dateutil import rrule

MADE = "2027-03-21T12:00:00+00:00"


def call(*command):
    return subprocess.run([str(part) for part in command], capture_output=True, timeout=120)


def instant(text):
    return datetime.datetime.fromisoformat(text).astimezone(datetime.timezone.utc)


def plan(program, shop, out, seed):
    answer = call(program, "plan", shop, "--out", out, "--ical", "--made", MADE, "--iterations", "100" if "tiny" in shop else "5", "--seed", seed)
    if answer.returncode not in (0, 1):
        sys.exit(f"plan {shop}: {answer.stderr.decode()}")
    return json.loads((out / "plan.json").read_text())


def events(path):
    raw = path.read_bytes()
    for line in raw.split(b"\r\n"):
        if len(line) > 75 or b"\n" in line or b"\r" in line:
            sys.exit(f"{path}: a line of {len(line)} octets: {line!r}")
    calendar = icalendar.Calendar.from_ical(raw)
    if calendar.errors or any(event.errors for event in calendar.events):
        sys.exit(f"{path}: {calendar.errors}")
    return calendar.events


def check_plan(program, shop, folder):
    out = folder / "plan"
    made = plan(program, shop, out, 1)
    seen, runs, stretches = set(), 0, 0
    uids = {}
    for brake in made["brakes"]:
        name = brake["brake"]
        wanted = []
        for run in brake["runs"]:
            change = run["changeover"]
            if change["steps"]:
                wanted.append((instant(change["start"]), instant(change["end"]), "changeover"))
            wanted.append((instant(run["start"]), instant(run["end"]), "run"))
        wanted += [(instant(t["start"]), instant(t["end"]), "takedown") for t in brake["takedowns"]]
        path = out / f"calendar-brake-{name}.ics"
        found = events(path) if path.exists() else []
        got = [(e.start, e.end, str(e["CATEGORIES"].cats[0])) for e in found]
        if sorted(got) != sorted(wanted):
            sys.exit(f"{path}: {got}\nexpected {wanted}")
        for event in found:
            if str(event["UID"]) in seen:
                sys.exit(f"{path}: the UID {event['UID']} twice")
            seen.add(str(event["UID"]))
            if event["DTSTAMP"].dt != instant(MADE):
                sys.exit(f"{path}: stamped {event['DTSTAMP'].dt}")
        for run in brake["runs"]:
            match = [e for e in found if e.start == instant(run["start"]) and str(e["CATEGORIES"].cats[0]) == "run"]
            if not any(run["order"] in str(e["SUMMARY"]) and run["part"] in str(e["SUMMARY"]) for e in match):
                sys.exit(f"{path}: nothing of run {run['run']}")
            if not all(any(reason in str(e["DESCRIPTION"]) for e in match) for reason in [r if isinstance(r, str) else r["text"] for r in run["reasons"]]):
                sys.exit(f"{path}: reasons of {run['run']} are lost")
            uids[run["order"]] = {str(e["UID"]) for e in match}
        runs += len(found)
    worked = {}
    for brake in made["brakes"]:
        parts = [s for run in brake["runs"] for s in run["segments"] + run["changeover"]["segments"]]
        parts += [s for takedown in brake["takedowns"] for s in takedown["segments"]]
        for segment in parts:
            for person in segment["crew"]:
                span = instant(segment["end"]) - instant(segment["start"])
                worked[person] = worked.get(person, datetime.timedelta()) + span
    for person, time in worked.items():
        found = events(out / f"calendar-person-{person}.ics")
        spans = sorted((e.start, e.end) for e in found)
        if sum((b - a for a, b in spans), datetime.timedelta()) != time:
            sys.exit(f"{person}: hours differ from the plan's {time}")
        if any(a[1] > b[0] for a, b in zip(spans, spans[1:])):
            sys.exit(f"{person} is in two places at once")
        if len({str(e["UID"]) for e in found}) != len(found):
            sys.exit(f"{person}: a UID twice")
        stretches += len(found)
    # The same again is the same to the byte, and another plan keeps the UID of an order's run.
    if "tiny" in shop:
        before = {p.name: p.read_bytes() for p in out.glob("*.ics")}
        plan(program, shop, out, 1)
        if before != {p.name: p.read_bytes() for p in out.glob("*.ics")}:
            sys.exit(f"{shop}: the same plan gives other calendars")
    other = folder / "other"
    plan(program, shop, other, 2)
    later = {str(e["UID"]) for p in other.glob("calendar-brake-*.ics") for e in events(p)}
    kept = sum(1 for uid in uids.values() if uid & later)
    if kept < 0.9 * len(uids):
        sys.exit(f"{shop}: of {len(uids)} orders {kept} keep a UID")
    print(f"{shop}: {runs} events of brakes and {stretches} of people are the plan's; {kept} of {len(uids)} orders keep their UID in another plan")


def holiday(chance):
    """An event, its days by the library's own rules, and whether it can be read."""
    start = datetime.date(chance.randint(2015, 2029), chance.randint(1, 12), chance.randint(1, 28))
    if chance.random() < 0.1:
        start = datetime.date(chance.choice([2016, 2020, 2024, 2028]), 2, 29)
    event = icalendar.Event()
    event.add("uid", f"{chance.random()}@invented")
    event.add("dtstamp", datetime.datetime(2027, 1, 1, tzinfo=datetime.timezone.utc))
    title = chance.choice(["New year", "Works' holiday; all, \\ really", "Ünïcode " * 12, "a \"quoted\" day", "two\nlines"])
    event.add("summary", title)
    event.add("dtstart", start)
    length = 1
    kind = chance.random()
    if kind < 0.5:
        length = chance.randint(1, 20)
        event.add("dtend", start + datetime.timedelta(days=length))
    elif kind < 0.6:
        length = chance.randint(1, 9)
        event.add("duration", datetime.timedelta(days=length))
    starts = [start]
    good = True
    if chance.random() < 0.5:
        rule = {"freq": "yearly"}
        if chance.random() < 0.3:
            rule["interval"] = chance.randint(2, 4)
        if chance.random() < 0.3:
            rule["count"] = chance.randint(1, 15)
        elif chance.random() < 0.3:
            rule["until"] = datetime.date(chance.randint(2026, 2030), 6, 30)
        event.add("rrule", rule)
        args = {key: value for key, value in rule.items() if key in ("interval", "count")}
        end = rule.get("until", datetime.date(2035, 1, 1))
        first = datetime.datetime.combine(start, datetime.time())
        each = rrule.rrule(rrule.YEARLY, dtstart=first, until=None if "count" in rule else datetime.datetime.combine(end, datetime.time()), **args)
        starts = [day.date() for day in each]
        if chance.random() < 0.2 and len(starts) > 1:
            out = chance.choice(starts)
            event.add("exdate", out)
            starts.remove(out)
    elif chance.random() < 0.15:
        event.add("rrule", {"freq": "yearly", "byday": "1mo", "bymonth": 5})
        good = False
    elif chance.random() < 0.15:
        event["DTSTART"] = icalendar.vDatetime(datetime.datetime(2027, 5, 5, 8, tzinfo=datetime.timezone.utc))
        event.pop("DTEND", None)
        event.pop("DURATION", None)
        good = False
    days = {begin + datetime.timedelta(days=past) for begin in starts for past in range(length)}
    return event, days if good else set(), good


def check_holidays(program, shop, folder, seeds):
    first, span = datetime.date(2027, 1, 1), 1000
    window = {first + datetime.timedelta(days=past) for past in range(span)}
    total = 0
    for seed in seeds:
        chance = random.Random(seed)
        calendar = icalendar.Calendar()
        calendar.add("prodid", "-//invented//EN")
        calendar.add("version", "2.0")
        wanted, good = set(), True
        for _ in range(chance.randint(0, 12)):
            event, days, readable = holiday(chance)
            calendar.add_component(event)
            wanted |= days & window
            good &= readable
        path = folder / "holidays.ics"
        raw = calendar.to_ical()
        if chance.random() < 0.3:
            raw = raw.replace(b"\r\n", b"\n")
        path.write_bytes(raw)
        base = [program, "holidays", shop, "--ics", path, "--from", first, "--days", span]
        answer = call(*base, "--json")
        if answer.returncode != (0 if good else 1):
            sys.exit(f"seed {seed}: exit code {answer.returncode}, {answer.stderr.decode()}\n{raw.decode()}")
        found = {datetime.date.fromisoformat(day["date"]) for day in json.loads(answer.stdout)["days"]}
        if found != wanted:
            sys.exit(f"seed {seed}: {sorted(found ^ wanted)} differ\n{raw.decode()}")
        text = call(*base).stdout.decode()
        for part in text.split("# [calendars.")[1:]:
            closed = {datetime.date.fromisoformat(day["date"]) for day in tomllib.loads("# " + part)["closed"]}
            if not wanted <= closed:
                sys.exit(f"seed {seed}: days are lost in TOML")
        total += len(found)
        for _ in range(4):
            spoilt = bytearray(raw)
            for _ in range(chance.randint(1, 5)):
                spoilt[chance.randrange(len(spoilt))] = chance.choice(b":;=,\r\n 0129-PTBEGIND\xff\x00")
            if chance.random() < 0.3:
                spoilt = spoilt[: chance.randrange(len(spoilt))]
            path.write_bytes(bytes(spoilt))
            answer = call(*base, "--json")
            if answer.returncode not in (0, 1, 2) or b"panicked" in answer.stderr:
                sys.exit(f"seed {seed}, spoilt: {answer.returncode} {answer.stderr.decode()}")
    print(f"{len(seeds)} calendars of holidays, seeds {seeds[0]} to {seeds[-1]}, read back to the same {total} days; {4 * len(seeds)} spoilt ones met with words")


def main():
    args = argparse.ArgumentParser()
    args.add_argument("program")
    args.add_argument("--seed", type=int, default=1)
    args = args.parse_args()
    folder = Path(tempfile.mkdtemp())
    for shop in ("tests/tiny-shop", "demo-shop"):
        own = folder / Path(shop).name
        own.mkdir()
        check_plan(args.program, shop, own)
    check_holidays(args.program, "tests/tiny-shop", folder, range(args.seed, args.seed + 120))


if __name__ == "__main__":
    main()
