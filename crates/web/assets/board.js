// The board's script: sends reports, keeps pages fresh, and says when the network is gone.
// Without it pages can still be read.
"use strict";

(() => {
  const main = () => document.getElementById("main");
  const net = document.getElementById("net");
  const news = document.getElementById("news");
  const done = document.getElementById("done");
  const word = document.querySelector("meta[name=csrf]");
  // With several sites, addresses begin with the site's part.
  const head = document.body.dataset.head || "";
  const api = `/api/v1${head}`;
  const wall = document.body.classList.contains("wall");
  // Common practice, no source: often enough that the clock on a page is right.
  const FRESH_EVERY = 60_000;
  const TRY_EVERY = 5_000;

  let seen = Number(document.body.dataset.event);
  let asked = seen;
  let gone = false;
  let fetching = false;
  let sending = 0;
  let pageSince = performance.now();
  let drag = null;

  // Whether somebody is filling in a field: a new page must not take it away from them.
  const busy = () =>
    sending > 0 ||
    drag !== null ||
    [...main().querySelectorAll("input, select, textarea")].some(
      (field) => field === document.activeElement || field.dataset.touched === "yes",
    );

  function lost() {
    if (!gone) {
      gone = true;
      news.hidden = true;
    }
    net.textContent =
      `No connection. This is what was known at ${main().dataset.at}; it can still be read. ` +
      "Nothing can be reported until the connection is back.";
    net.hidden = false;
    document.body.classList.add("gone");
  }

  function back() {
    if (gone) {
      gone = false;
      net.hidden = true;
      document.body.classList.remove("gone");
    }
  }

  // Whether the daemon can be reached; takes a fresh page when it can again.
  async function probe() {
    try {
      await fetch("/healthz", { cache: "no-store" });
      const again = gone;
      back();
      if (again) refresh(false);
    } catch {
      lost();
    }
  }

  // Remembers what has the focus, and gives it to the same thing of the next page; else to the page.
  function focusKeeper() {
    const old = document.activeElement;
    if (!old || !main().contains(old)) return () => {};
    const form = old.closest("form.send");
    const like = () => {
      if (old === document.getElementById("main")) return main();
      if (old.id) return document.getElementById(old.id);
      if (form) {
        const same = [...main().querySelectorAll("form.send")].find(
          (other) => other.dataset.path === form.dataset.path,
        );
        return same && same.querySelector("button");
      }
      const to = old.getAttribute("href");
      return to && [...main().querySelectorAll("a")].find((a) => a.getAttribute("href") === to);
    };
    return () => (like() || main()).focus({ preventScroll: true });
  }

  // Takes the content of the page as it is now.
  async function refresh(always) {
    if (fetching) return;
    if (!always && busy()) {
      if (asked > seen) news.hidden = gone;
      return;
    }
    fetching = true;
    try {
      const answer = await fetch(location.href, { headers: { accept: "text/html" } });
      if (answer.redirected && new URL(answer.url).pathname.endsWith("/sign-in")) {
        back();
        net.textContent = "You are signed out. Load the page again to sign in.";
        net.hidden = false;
        return;
      }
      if (!answer.ok) {
        if (answer.status >= 500) lost();
        return;
      }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById("main");
      if (!fresh) return;
      back();
      // Somebody may have begun to type meanwhile.
      if (!always && busy()) return;
      const open = [...main().querySelectorAll("details[open]")].map(label);
      const scrolled = [...main().querySelectorAll(".scroll")].map((one) => one.scrollLeft);
      const refocus = focusKeeper();
      main().replaceWith(document.adoptNode(fresh));
      for (const one of main().querySelectorAll("details")) {
        if (open.includes(label(one))) one.open = true;
      }
      main().querySelectorAll(".scroll").forEach((one, at) => {
        one.scrollLeft = scrolled[at] || 0;
      });
      refocus();
      const meta = page.querySelector("meta[name=csrf]");
      if (meta && word) word.content = meta.content;
      document.querySelector("footer").replaceWith(page.querySelector("footer"));
      seen = Number(main().dataset.event);
      pageSince = performance.now();
      news.hidden = true;
    } catch {
      lost();
    } finally {
      fetching = false;
    }
  }

  const label = (details) => details.id || details.querySelector("summary").textContent;

  function key() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  // What a form sends: what it brings, and its fields.
  function content(form) {
    const all = JSON.parse(form.dataset.with || "{}");
    for (const field of form.elements) {
      if (!field.name || ("optional" in field.dataset && field.value === "")) continue;
      if ("number" in field.dataset) all[field.name] = Number(field.value);
      else all[field.name] = field.value;
    }
    return Object.keys(all).length > 0 ? JSON.stringify(all) : null;
  }

  async function send(form) {
    if (form.dataset.ask && !window.confirm(form.dataset.ask)) return;
    const said = form.querySelector(".said");
    const buttons = [...main().querySelectorAll("form.send button")];
    const body = content(form);
    // The same report sent twice must count once, so what may have arrived keeps its key.
    if (form.dataset.sent !== String(body)) {
      form.dataset.key = key();
      form.dataset.sent = String(body);
    }
    const headers = { "idempotency-key": form.dataset.key };
    if (body !== null) headers["content-type"] = "application/json";
    if (form.dataset.match) headers["if-match"] = form.dataset.match;
    if ("none" in form.dataset) headers["if-none-match"] = "*";
    if (word) headers["x-csrf-token"] = word.content;
    const method = form.dataset.method;
    sending += 1;
    const off = buttons.filter((button) => button.disabled);
    for (const button of buttons) button.disabled = true;
    said.className = "said";
    said.textContent = "Sending …";
    try {
      const answer = await fetch(form.dataset.path, { method, headers, body });
      if (answer.ok) {
        said.textContent = "Done.";
        // The page with the form goes; what was done is still to be read, and heard.
        if (done) {
          done.textContent = `Done: ${form.querySelector("button[type=submit]").textContent}.`;
          window.setTimeout(() => (done.textContent = ""), 8_000);
        }
        delete form.dataset.sent;
        sending -= 1;
        await refresh(true);
        sending += 1;
        return;
      }
      const problem = await answer.json().catch(() => ({}));
      delete form.dataset.sent;
      said.className = "said refused";
      said.textContent = `Not done: ${problem.detail || `the daemon answered ${answer.status}.`}`;
      if (problem.kind === "stale") {
        said.textContent += " The page is brought up to date; look, and press again if it still holds.";
        asked = seen + 1;
        news.hidden = false;
      }
    } catch {
      said.className = "said refused";
      said.textContent =
        "Not known whether it arrived: no connection. Press again when the connection is back; it counts once.";
      lost();
    } finally {
      sending -= 1;
      for (const button of buttons) button.disabled = off.includes(button);
    }
  }

  // What a pin would change: asked before it can be set, and anew when brake or place are others.
  async function effect(button) {
    const form = button.closest("form");
    const told = form.querySelector(".told");
    const body = content(form);
    const headers = { "content-type": "application/json" };
    if (word) headers["x-csrf-token"] = word.content;
    sending += 1;
    button.disabled = true;
    const began = performance.now();
    const tell = (text) => told.replaceChildren(line("p", text));
    tell("Planning twice, with the pin and without it …");
    // The seconds are seen, and not read out.
    const clock = line("span", "");
    clock.setAttribute("aria-hidden", "true");
    told.firstChild.append(" ", clock);
    const ticking = window.setInterval(() => {
      clock.textContent = `${Math.round((performance.now() - began) / 1_000)} s`;
    }, 1_000);
    try {
      const answer = await fetch(button.dataset.path, { method: "POST", headers, body });
      const said = await answer.json().catch(() => ({}));
      if (!answer.ok) {
        tell(`No answer: ${said.detail || `the daemon answered ${answer.status}.`}`);
        return;
      }
      told.replaceChildren(...effectLines(said));
      if (content(form) === body) form.querySelector("[data-after-effect]").disabled = false;
    } catch {
      tell("No connection.");
      lost();
    } finally {
      window.clearInterval(ticking);
      sending -= 1;
      button.disabled = false;
    }
  }

  function line(name, text) {
    const made = document.createElement(name);
    made.textContent = text;
    return made;
  }

  const minutesOf = (seconds) => {
    const all = Math.round(Math.abs(seconds) / 60);
    return all < 60 ? `${all} min` : `${Math.floor(all / 60)} h ${String(all % 60).padStart(2, "0")} min`;
  };
  const moreOrLess = (seconds) =>
    Math.abs(seconds) < 30 ? "as before" : `${minutesOf(seconds)} ${seconds > 0 ? "more" : "less"}`;

  function effectLines(said) {
    const { before, after, orders } = said.differences;
    const lines = [];
    for (const placed of said.orders) {
      const runs = placed.runs.map((run) => `${run.brake}, ${when(run.start)} to ${when(run.end)}`);
      lines.push(
        line(
          "p",
          runs.length > 0
            ? `${placed.order} would run on ${runs.join("; ")}.`
            : `${placed.order} would have no place: ${placed.unplaced.join("; ")}`,
        ),
      );
    }
    lines.push(
      line(
        "p",
        `Changeovers: ${moreOrLess(after.changeover_seconds - before.changeover_seconds)}. ` +
          `Late orders: ${before.late_orders} without the pin, ${after.late_orders} with it. ` +
          `Orders without a place: ${before.unplaced_orders} and ${after.unplaced_orders}.`,
      ),
    );
    const later = orders.filter((one) => (one.ends_later_seconds || 0) > 0);
    later.sort((one, other) => other.ends_later_seconds - one.ends_later_seconds);
    if (later.length === 0) lines.push(line("p", "Nobody else would get later."));
    else {
      lines.push(line("p", `${later.length === 1 ? "1 order" : `${later.length} orders`} would end later:`));
      const list = document.createElement("ul");
      for (const one of later.slice(0, 20)) {
        const late =
          one.late_seconds_after > 0
            ? `, ${one.late_seconds_before > 0 ? "late" : "newly late"} by ${minutesOf(one.late_seconds_after)}`
            : ", still in time";
        list.append(line("li", `${one.order}: ${minutesOf(one.ends_later_seconds)} later${late}`));
      }
      if (later.length > 20) list.append(line("li", `and ${later.length - 20} more`));
      lines.push(list);
    }
    lines.push(line("p", "A short search does not find the same plan twice; small differences mean nothing."));
    return lines;
  }

  // The shop's time stands in the moment itself.
  const when = (moment) => String(moment).replace("T", " ").slice(5, 16);

  document.addEventListener("click", (event) => {
    const button = event.target.closest("button.effect");
    if (button) effect(button);
  });
  document.addEventListener("input", (event) => {
    const form = event.target.closest("form.pin");
    if (!form) return;
    form.querySelector("[data-after-effect]").disabled = true;
    form.querySelector(".told").replaceChildren();
  });

  // Where a run is dropped, or which run has the focus, goes into the address of the form that pins it.
  function pinning(order, brake, place) {
    const base = document.querySelector("#pin-this").dataset.at;
    const [page] = base.split("#");
    const more = brake ? `&to=${encodeURIComponent(brake)}&place=${place}` : "";
    return `${head}${page}${encodeURIComponent(order)}${more}#pin`;
  }

  document.addEventListener("focusin", (event) => {
    const run = event.target.closest && event.target.closest(".chart a[data-order]");
    const offer = document.querySelector("#pin-this");
    if (!run || !offer) return;
    const link = offer.querySelector("a");
    link.textContent = `Pin ${run.dataset.order} …`;
    link.href = pinning(run.dataset.order);
    offer.hidden = false;
  });

  let dropped = false;
  document.addEventListener("pointerdown", (event) => {
    const run = event.target.closest && event.target.closest(".chart a[data-order]");
    if (!run || event.button !== 0 || !document.querySelector("#pin-this")) return;
    drag = { run, x: event.clientX, y: event.clientY, id: event.pointerId, moves: false };
  });
  document.addEventListener("pointermove", (event) => {
    if (!drag || event.pointerId !== drag.id) return;
    const [dx, dy] = [event.clientX - drag.x, event.clientY - drag.y];
    if (!drag.moves && Math.hypot(dx, dy) < 8) return;
    drag.moves = true;
    const svg = drag.run.ownerSVGElement;
    const scale = svg.viewBox.baseVal.width / svg.getBoundingClientRect().width;
    drag.run.classList.add("dragged");
    drag.run.setAttribute("transform", `translate(${dx * scale} ${dy * scale})`);
    drag.row = rowAt(svg, event.clientY);
    for (const old of svg.querySelectorAll(".target")) old.classList.remove("target");
    if (drag.row) drag.row.querySelector("rect.row").classList.add("target");
  });
  function rowAt(svg, y) {
    return [...svg.querySelectorAll("g[data-brake]")].find((row) => {
      const box = row.querySelector("rect.row").getBoundingClientRect();
      return box.top - 20 <= y && y <= box.bottom + 20;
    });
  }
  // Orders with a place come first, so the place is counted among those drawn before the drop.
  function placeAt(row, x, order) {
    const before = new Set();
    for (const run of row.querySelectorAll("a[data-place]")) {
      const box = run.getBoundingClientRect();
      if (run.dataset.order !== order && box.left + box.width / 2 < x) before.add(run.dataset.place);
    }
    return before.size + 1;
  }
  function letGo(event) {
    if (!drag || event.pointerId !== drag.id) return;
    const { run, row, moves } = drag;
    drag = null;
    run.classList.remove("dragged");
    run.removeAttribute("transform");
    for (const old of document.querySelectorAll(".chart .target")) old.classList.remove("target");
    if (!moves || event.type !== "pointerup") return;
    dropped = true;
    window.setTimeout(() => (dropped = false), 0);
    if (!row) return;
    const order = run.dataset.order;
    location.assign(pinning(order, row.dataset.brake, placeAt(row, event.clientX, order)));
  }
  document.addEventListener("pointerup", letGo);
  document.addEventListener("pointercancel", letGo);
  // A run is a link: the end of a drag must not follow it, nor its beginning drag the link away.
  document.addEventListener("click", (event) => dropped && event.preventDefault(), true);
  document.addEventListener("dragstart", (event) => {
    if (event.target.closest && event.target.closest(".chart a[data-order]")) event.preventDefault();
  });
  document.body.classList.add("scripted");

  document.addEventListener("submit", (event) => {
    if (!event.target.matches("form.send")) return;
    event.preventDefault();
    send(event.target);
  });
  // Where a page goes back to after a choice: to exactly what is looked at.
  document.addEventListener("submit", (event) => {
    const next = event.target.querySelector("input[name=next]");
    if (event.target.id === "lengths" && next) {
      next.value = location.pathname.slice(head.length) + location.search;
    }
  });
  document.addEventListener("input", (event) => {
    event.target.dataset.touched = "yes";
  });
  if (news) news.querySelector("button").addEventListener("click", () => refresh(true));

  const out = document.getElementById("sign-out");
  if (out) {
    out.addEventListener("click", async () => {
      const headers = word ? { "x-csrf-token": word.content } : {};
      // Or it would be asked for once more by nobody who is signed in.
      stream.close();
      try {
        await fetch(`${api}/session`, { method: "DELETE", headers });
        if ("caches" in window) await caches.delete("board-1");
        location.assign(`${head}/sign-in`);
      } catch {
        lost();
        listen();
      }
    });
  }

  // What happens is told by the stream. The browser comes back to it by itself.
  let soon = 0;
  let stream;
  function told(event) {
    asked = Math.max(asked, Number(event.lastEventId) || asked + 1);
    window.clearTimeout(soon);
    // A burst of events is one new page.
    soon = window.setTimeout(() => refresh(false), 300);
  }
  const KINDS = (document.body.dataset.kinds || "").split(" ").filter(Boolean);
  function listen() {
    stream = new EventSource(`${api}/stream?after=${seen}`);
    for (const kind of KINDS) stream.addEventListener(kind, told);
    stream.addEventListener("message", told);
    stream.addEventListener("standing", () => {
      window.clearTimeout(soon);
      soon = window.setTimeout(() => refresh(false), 300);
    });
    stream.addEventListener("open", () => {
      if (gone) probe();
    });
    stream.addEventListener("error", () => {
      if (stream.readyState === EventSource.CLOSED) {
        // Refused: signed out, or too many asked at once. Looking at the page tells.
        window.setTimeout(listen, TRY_EVERY * 6);
      }
      probe();
    });
  }
  listen();
  // A page that was kept is shown without a connection, and has to say so.
  if (!navigator.onLine) lost();
  else probe();

  window.addEventListener("offline", lost);
  window.addEventListener("online", probe);
  window.setInterval(() => {
    if (gone) probe();
  }, TRY_EVERY);
  window.setInterval(() => refresh(false), wall ? FRESH_EVERY / 2 : FRESH_EVERY);

  // Pages that were looked at can be read again without a connection.
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/keep.js").catch(() => {});

  // Seconds of a search that goes on.
  window.setInterval(() => {
    for (const one of document.querySelectorAll(".so-far")) {
      const past = (performance.now() - pageSince) / 1_000;
      one.textContent = `${Math.round(Number(one.dataset.seconds) + past)} s`;
    }
  }, 1_000);

  // A long day's chart begins at now.
  const now = document.querySelector(".chart .now line");
  if (now) {
    const scroll = now.closest(".scroll");
    if (scroll) scroll.scrollLeft = Number(now.getAttribute("x1")) - scroll.clientWidth / 3;
  }
})();
