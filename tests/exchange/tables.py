"""Workbooks of a plan are read by another library and held against the plan; order tables that the
library writes are read back; formulas, packed files that grow and spoilt files are refused."""

import argparse
import csv
import datetime
import io
import json
import random
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import openpyxl

SHOP = "tests/tiny-shop"
PARTS = None
COLUMNS = """
[columns]
order = "WO No"
part = "Item"
quantity = "Qty open"
due = "Wanted"
reference = "Note"
[ignore]
columns = ["Customer", "Price"]
"""


def call(*command):
    return subprocess.run([str(part) for part in command], capture_output=True, timeout=120)


def words(answer, expected, what):
    if answer.returncode != expected or b"panicked" in answer.stderr:
        sys.exit(f"{what}: exit code {answer.returncode}, expected {expected}\n{answer.stderr.decode()}")


def sheet(book, name):
    rows = list(book[name].iter_rows(values_only=True))
    return [dict(zip(rows[0], row)) for row in rows[1:]]


def check_plan(program, shop, folder):
    out = folder / "plan"
    answer = call(program, "plan", shop, "--out", out, "--tables", "--made", "2027-03-21T12:00:00+00:00", "--iterations", "20")
    if answer.returncode not in (0, 1):
        sys.exit(answer.stderr.decode())
    plan = json.loads((out / "plan.json").read_text())
    book = openpyxl.load_workbook(out / "plan.xlsx")
    if book.sheetnames != ["runs", "loads", "orders", "no place"]:
        sys.exit(f"sheets {book.sheetnames}")
    for page in book:
        for row in page.iter_rows():
            if any(cell.data_type == "f" for cell in row):
                sys.exit("a formula in a workbook of ours")
    runs = {row["run"]: row for row in sheet(book, "runs") if row["run"] != "takedown"}
    wanted = {run["run"]: (brake["brake"], run) for brake in plan["brakes"] for run in brake["runs"]}
    if set(runs) != set(wanted):
        sys.exit(f"{shop}: runs differ")
    minutes = {}
    for name, (brake, run) in wanted.items():
        row = runs[name]
        if (row["brake"], row["order"], row["part"], row["quantity"]) != (brake, run["order"], run["part"], run["quantity"]):
            sys.exit(f"{shop}: {row}")
        for key, parts in (("run_minutes", run["segments"]), ("changeover_minutes", run["changeover"]["segments"])):
            for part in parts:
                time = datetime.datetime.fromisoformat(part["end"]) - datetime.datetime.fromisoformat(part["start"])
                minutes[brake, key] = minutes.get((brake, key), 0) + time.total_seconds() / 60
    for brake in plan["brakes"]:
        for takedown in brake["takedowns"]:
            for part in takedown["segments"]:
                time = datetime.datetime.fromisoformat(part["end"]) - datetime.datetime.fromisoformat(part["start"])
                key = brake["brake"], "changeover_minutes"
                minutes[key] = minutes.get(key, 0) + time.total_seconds() / 60
    loads = sheet(book, "loads")
    for (brake, key), time in minutes.items():
        days = [row[key] for row in loads if row["brake"] == brake]
        if abs(sum(days) - time) > 0.06 * len(days):
            sys.exit(f"{shop}: {brake} {key} {sum(days)}, the plan has {time}")
    if any(row["run_minutes"] + row["changeover_minutes"] > row["staffed_minutes"] + 0.11 for row in loads):
        sys.exit(f"{shop}: more load than time")
    placed = {}
    for _, run in wanted.values():
        placed[run["order"]] = placed.get(run["order"], 0) + run["quantity"]
    for row in sheet(book, "orders"):
        if row["placed"] != placed.get(row["order"], 0):
            sys.exit(f"{shop}: {row}")
    for name in ("loads", "orders"):
        with open(out / f"{name}.csv", newline="", encoding="utf-8") as file:
            table = list(csv.DictReader(file))
        if len(table) != len(sheet(book, name)):
            sys.exit(f"{name}.csv: {len(table)} rows")
    print(f"{shop}: {len(runs)} runs, {len(loads)} loads and {len(placed)} orders of the workbook are the plan's")


def orders(chance):
    rows = []
    for number in range(chance.randint(1, 40)):
        day = datetime.date(2027, 6, 7) + datetime.timedelta(days=chance.randint(3, 60))
        due = chance.choice([day, datetime.datetime.combine(day, datetime.time(chance.randint(0, 23), chance.choice([0, 15, 59]))), day.isoformat()])
        note = chance.choice(["", "=not a formula", "a, \"b\"", "# top", "Ünïcode", "+49", "x" * 200, 4711, 0.5])
        identity = chance.choice([f"N-{number}", 100000 + number])
        rows.append([identity, chance.choice(PARTS), chance.randint(1, 900), due, note])
    return rows


def text(value):
    if isinstance(value, datetime.datetime):
        return value.strftime("%Y-%m-%d") if value.time() == datetime.time() else value.strftime("%Y-%m-%dT%H:%M")
    return str(value)


def write(rows, path, chance):
    book = openpyxl.Workbook()
    page = book.active
    header = ["WO No", "Item", "Qty open", "Wanted", "Note"]
    extra = chance.random() < 0.5
    page.append((["Customer"] if extra else []) + header)
    for row in rows:
        if chance.random() < 0.1:
            page.append([])
        page.append((["invented & co"] if extra else []) + [None if cell == "" else cell for cell in row])
    for row in page.iter_rows():
        for cell in row:
            if cell.data_type == "f":  # text that looks like one
                cell.data_type = "s"
    if chance.random() < 0.3:
        book.create_sheet("other").append(["nothing"])
    book.save(path)
    return book


def check_orders(program, folder, seeds):
    names = folder / "columns.toml"
    names.write_text(COLUMNS, encoding="utf-8")
    path = folder / "orders.xlsx"
    total = spoilt_count = 0
    for seed in seeds:
        chance = random.Random(seed)
        rows = orders(chance)
        write(rows, path, chance)
        answer = call(program, "orders", SHOP, "--from", path, "--columns", names)
        words(answer, 0, f"seed {seed}")
        found = list(csv.DictReader(io.StringIO(answer.stdout.decode())))
        wanted = [dict(zip(["order", "part", "quantity", "due", "reference"], map(text, row))) for row in rows]
        got = [{key: row.get(key, "") for key in wanted[0]} for row in found]
        if got != wanted:
            sys.exit(f"seed {seed}: {[pair for pair in zip(got, wanted) if pair[0] != pair[1]][:3]}")
        total += len(rows)
        good = path.read_bytes()
        for _ in range(3):
            bytes_ = bytearray(good)
            for _ in range(chance.randint(1, 8)):
                bytes_[chance.randrange(len(bytes_))] = chance.randrange(256)
            path.write_bytes(bytes(bytes_))
            answer = call(program, "orders", SHOP, "--from", path, "--columns", names)
            if answer.returncode not in (0, 2) or b"panicked" in answer.stderr:
                sys.exit(f"seed {seed}, spoilt: {answer.returncode} {answer.stderr.decode()}")
            spoilt_count += 1
        # Spoilt within: the sheet's text is changed and packed again.
        with zipfile.ZipFile(io.BytesIO(good)) as packed:
            parts = {name: packed.read(name) for name in packed.namelist()}
        for _ in range(3):
            name = chance.choice([name for name in parts if name.endswith((".xml", ".rels"))])
            changed = bytearray(parts[name])
            for _ in range(chance.randint(1, 4)):
                at = chance.randrange(len(changed))
                changed[at : at + chance.randint(0, 3)] = bytes(chance.choice(b'<>/"=rstc019AZ& \xff') for _ in range(chance.randint(0, 3)))
            with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
                for other, content in parts.items():
                    packed.writestr(other, bytes(changed) if other == name else content)
            answer = call(program, "orders", SHOP, "--from", path, "--columns", names)
            if answer.returncode not in (0, 2) or b"panicked" in answer.stderr:
                sys.exit(f"seed {seed}, spoilt within {name}: {answer.returncode} {answer.stderr.decode()}")
            spoilt_count += 1
    print(f"{len(seeds)} workbooks of orders, seeds {seeds[0]} to {seeds[-1]}, read back to the same {total} rows; {spoilt_count} spoilt ones met with words")


def with_part(good, name, content):
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(good)) as packed, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as to:
        for other in packed.namelist():
            to.writestr(other, content if other == name else packed.read(other))
        if name not in packed.namelist():
            to.writestr(name, content)
    return out.getvalue()


def check_hostile(program, folder):
    names = folder / "columns.toml"
    path = folder / "hostile.xlsx"
    book = openpyxl.Workbook()
    book.active.append(["WO No", "Item", "Qty open", "Wanted", "Note"])
    book.active.append(["N-1", PARTS[0], 3, "2027-07-01", ""])
    book.save(path)
    good = path.read_bytes()
    sheet_name = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(io.BytesIO(good)) as packed:
        page = packed.read(sheet_name).decode()
    row = page.index("<row ", page.index("<row ") + 1)
    far = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    book.active["C2"] = "=1+2"
    formula = io.BytesIO()
    book.save(formula)
    lying = bytearray(with_part(good, "xl/media/big.bin", b"0" * (70 << 20)))
    # What the directory says of the size is made small.
    at = lying.rindex(b"xl/media/big.bin") - 46
    lying[at + 24 : at + 28] = (1000).to_bytes(4, "little")
    cases = [
        ("grows", with_part(good, "xl/media/big.bin", b"0" * (70 << 20)), b"E202"),
        ("grows and says otherwise", bytes(lying), b"E20"),
        ("tight", with_part(good, "xl/media/big.bin", b"0" * (5 << 20)), b"E202"),
        ("far cell", with_part(good, sheet_name, page.replace("</sheetData>", far + "</sheetData>")), b"E202"),
        ("formula", formula.getvalue(), b"formula in the cell C2"),
        ("empty formula", with_part(good, sheet_name, page[:row] + page[row:].replace("<v>3</v>", "<f></f><v>3</v>")), b"E203"),
        ("shared formula", with_part(good, sheet_name, page[:row] + page[row:].replace("<v>3</v>", '<f t="shared" si="4294967295" ref="C2:C9">1</f><v>3</v>')), b"E203"),
        ("sheet in UTF-16", with_part(good, sheet_name, page.replace("UTF-8", "UTF-16").encode("utf-16")), b"E201"),
        ("entities", with_part(good, sheet_name, '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "' + "b" * 1000 + '"><!ENTITY c "' + "&a;" * 1000 + '">]>' + page[page.index("<worksheet") :].replace("<v>3</v>", "<v>&c;</v>")), None),
        ("error cell", with_part(good, sheet_name, page.replace("<v>3</v>", "<v>#REF!</v>").replace('r="C2" t="n"', 'r="C2" t="e"')), b"E204"),
        ("no sheet", with_part(good, "xl/workbook.xml", "<workbook/>"), b"E201"),
        ("many entries", None, b"E202"),
        ("renamed drawing", b"  0\nSECTION\n", b""),
        ("nothing", b"", b""),
    ]
    for name, content, said in cases:
        if content is None:
            out = io.BytesIO()
            with zipfile.ZipFile(out, "w") as packed:
                for number in range(3000):
                    packed.writestr(f"{number}.xml", "")
            content = out.getvalue()
        path.write_bytes(content)
        answer = call(program, "orders", SHOP, "--from", path, "--columns", names)
        words(answer, 2, name)
        if said and said not in answer.stderr:
            sys.exit(f"{name}: {answer.stderr.decode()}")
    print(f"{len(cases)} hostile workbooks refused")


def main():
    global PARTS
    args = argparse.ArgumentParser()
    args.add_argument("program")
    args.add_argument("--seed", type=int, default=1)
    args = args.parse_args()
    with open(f"{SHOP}/parts.csv", encoding="utf-8") as file:
        PARTS = [row["part"] for row in csv.DictReader(line for line in file if not line.startswith("#"))]
    folder = Path(tempfile.mkdtemp())
    for shop in (SHOP, "demo-shop"):
        own = folder / Path(shop).name
        own.mkdir()
        check_plan(args.program, shop, own)
    check_orders(args.program, folder, range(args.seed, args.seed + 60))
    check_hostile(args.program, folder)


if __name__ == "__main__":
    main()
