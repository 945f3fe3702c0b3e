"""The daemon on an invented shop, and the folders it is given. Standard library alone."""

import csv
import datetime
import json
import shutil
import subprocess
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# Folders of invented data, each with a moment at which its day begins.
DEMO = (ROOT / "demo-shop", "2027-03-22T15:30:00+01:00")
TINY = (ROOT / "tests/tiny-shop", "2027-06-07T05:00:00+02:00")
PASSWORD = "nine cold chisels"
# A code, as people's names are not wanted in events.
ACCOUNTS = {"manager": "M-1", "lead": "L-1", "estimator": "E-1", "viewer": "V-1"}


class Daemon:
    """`brakewright serve` on a folder, on a free port of this machine."""

    def __init__(self, program, folder, name, seconds=6, shop=DEMO):
        self.program, self.name = program, name
        source, self.clock = shop
        self.home = folder / name
        self.files = self.home / "shop"
        self.home.mkdir(parents=True)
        shutil.copytree(source, self.files)
        self.seconds = seconds
        self.process = None
        self.token = None
        self.faults = []

    @property
    def database(self):
        return f"sqlite:{self.home / 'shop.db'}"

    def start(self):
        self.log = open(self.home / "log", "wb")
        self.process = subprocess.Popen(
            [
                self.program, "serve", str(self.files), "--db", self.database,
                "--listen", "127.0.0.1:0", "--clock", self.clock, "--seconds", str(self.seconds),
            ],
            stdout=subprocess.PIPE,
            stderr=self.log,
        )
        line = self.process.stdout.readline().decode().strip()
        if not line:
            raise RuntimeError(f"the daemon did not start: {self.words()}")
        self.address = line.rstrip("/")
        self.quiet(1)

    def quiet(self, seconds):
        """How long nothing must have happened before a proposal is made by itself."""
        headers, policy = self.must("GET", "/policy")
        self.must("PUT", "/policy", policy | {"quiet_seconds": seconds}, If_Match=headers["ETag"])

    def words(self):
        """The end of what the daemon logged."""
        return (self.home / "log").read_text(errors="replace")[-2000:]

    def stop(self):
        """Ends the daemon, and keeps as faults what it should not have logged."""
        if self.process is None:
            return
        self.process.terminate()
        try:
            code = self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            code = "none; it had to be killed"
        self.log.close()
        log = (self.home / "log").read_text(errors="replace").splitlines()
        self.faults = [line for line in log if " ERROR " in line or "panicked" in line]
        if code != 0:
            self.faults.append(f"exit code {code}")
        self.process = None

    def ask(self, method, path, body=None, **headers):
        """Status, headers and JSON of an answer of the API."""
        request = urllib.request.Request(f"{self.address}/api/v1{path}", method=method)
        data = None
        if body is not None:
            data = json.dumps(body).encode()
            request.add_header("Content-Type", "application/json")
        if self.token:
            request.add_header("Authorization", f"Bearer {self.token}")
        for name, value in headers.items():
            request.add_header(name.replace("_", "-"), value)
        try:
            with urllib.request.urlopen(request, data, timeout=60) as answer:
                return answer.status, answer.headers, json.loads(answer.read() or b"null")
        except urllib.error.HTTPError as error:
            return error.code, error.headers, json.loads(error.read() or b"null")

    def must(self, method, path, body=None, **headers):
        status, answered, told = self.ask(method, path, body, **headers)
        if status not in (200, 201, 202, 204):
            raise RuntimeError(f"{method} {path}: status {status}: {told}")
        return answered, told

    def proposal(self, after=0, patience=90):
        """Waits for a proposal with a higher number, and for its planner to be at rest."""
        end = time.monotonic() + patience
        while time.monotonic() < end:
            status, _, told = self.ask("GET", "/standing")
            if status == 200 and (told.get("proposal") or 0) > after and told["standing"] == "up-to-date":
                return told["proposal"]
            time.sleep(0.2)
        raise RuntimeError(f"no proposal after {after}: {told}; {self.words()}")

    def publish(self, plan):
        self.must("PUT", "/plans/published", {"plan": plan}, If_None_Match="*")

    def people(self):
        """An account for each role, and a token of the manager's for what the test itself asks."""
        for role, account in ACCOUNTS.items():
            self.command("put", account, "--role", role, text=f"{PASSWORD}\n")
        told = self.command("token", ACCOUNTS["manager"], "--label", "test")
        self.token = next(word for word in told.split() if word.startswith("bw_"))

    def command(self, *words, text=""):
        done = subprocess.run(
            [self.program, "people", "--db", self.database, *words],
            input=text, capture_output=True, text=True, timeout=60,
        )
        if done.returncode != 0:
            raise RuntimeError(f"people {' '.join(words)}: {done.stderr}")
        return done.stdout


def rewrite(path, change, more=()):
    """Changes a table: `change` takes and gives a list of rows; `more` are columns to add."""
    with open(path, newline="") as file:
        lines = [line for line in file if not line.startswith("#")]
    reader = csv.DictReader(lines)
    names = [*reader.fieldnames, *more]
    rows = change(list(reader))
    with open(path, "w", newline="") as file:
        writer = csv.DictWriter(file, names)
        writer.writeheader()
        writer.writerows(rows)


def thousand(files):
    """Makes a demo shop's folder one of a thousand small orders of its own parts."""

    def orders(rows):
        plain = [r for r in rows if not (r["kit"] or r["after"] or r["ready"] or r["ship_date"])]
        out = []
        for number in range(1000):
            due = datetime.date(2027, 3, 30) + datetime.timedelta(days=number // 20)
            out.append(
                plain[number % len(plain)]
                | {
                    "order": f"W-{10001 + number}",
                    "quantity": 5 + number * 7 % 16,
                    "due": due.isoformat(),
                    "reference": f"job {number}",
                    "certificate_mpa": "",
                    "heat": "",
                    "brake": "",
                }
            )
        return out

    rewrite(files / "work-orders.csv", orders)
    for name in ("deliveries", "blanks", "floor"):
        rewrite(files / f"{name}.csv", lambda rows: [])
    shop = files / "shop.toml"
    text = shop.read_text()
    assert "horizon_days = 21" in text
    shop.write_text(text.replace("horizon_days = 21", "horizon_days = 120"))
