"use strict";
(() => {
  const one = (q, from = document) => from.querySelector(q);
  const all = (q, from = document) => Array.from(from.querySelectorAll(q));
  const by = (id) => document.getElementById(id);
  const words = { good: "cut", glued: "glued", failed: "failed" };
  const lay = document.body.dataset.lay;
  const hash = document.body.dataset.hash;
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  document.body.classList.add("live");

  // Every piece with its row, in the order of the tables.
  const pieces = new Map();
  const list = [];
  for (const row of all("tr[data-of]")) {
    const address = row.dataset.of;
    const it = { address, row, path: by(address), place: list.length, section: row.closest("section"), state: "" };
    pieces.set(address, it);
    list.push(it);
  }

  const say = (text) => { by("said").textContent = text; };

  // What is ticked off. A page opened as a file may have nowhere to keep it: Export always works.
  const key = "pouchwork " + hash;
  let kept = true;
  const keep = () => {
    try {
      const states = list.filter((it) => it.state).map((it) => [it.address, it.state]);
      localStorage.setItem(key, JSON.stringify(states));
    } catch { kept = false; }
  };
  const recall = () => {
    try {
      for (const [address, state] of JSON.parse(localStorage.getItem(key) || "[]")) {
        const it = pieces.get(address);
        if (it && Object.hasOwn(words, state)) mark(it, state);
      }
    } catch { kept = false; }
  };
  const mark = (it, state) => {
    for (const name of Object.keys(words)) it.path.classList.toggle(name, name === state);
    it.state = state;
    it.path.setAttribute("aria-label", state ? it.address + ", " + words[state] : it.address);
    for (const box of all("[data-box]", it.row)) box.textContent = box.dataset.box === state ? "X" : "";
  };
  const count = () => {
    const of = (state) => list.filter((it) => it.state === state).length;
    const told = Object.keys(words).filter(of).map((state) => of(state) + " " + words[state]);
    by("count").textContent = (told.length ? told.join(", ") : "nothing ticked") + " of " + list.length
      + (kept ? "" : "; not kept by this browser: export before you close the page");
  };
  const tick = (it, state) => {
    mark(it, it.state === state ? "" : state);
    keep();
    count();
    if (shown === it) press();
    say(it.address + ": " + (it.state ? words[it.state] : "not ticked"));
  };

  // The card.
  let shown = null;
  let pinned = false;
  let back = null;
  let leaving = false;
  const press = () => {
    for (const button of all("#card [data-state]")) {
      button.setAttribute("aria-pressed", String(shown !== null && button.dataset.state === shown.state));
    }
  };
  const make = (name, text) => {
    const it = document.createElement(name);
    if (text !== undefined) it.textContent = text;
    return it;
  };
  const show = (it, pin) => {
    pinned = pin || (pinned && shown === it);
    if (shown === it) return;
    if (shown) for (const node of [shown.path, shown.row]) node.classList.remove("now");
    shown = it;
    for (const node of [it.path, it.row]) node.classList.add("now");
    by("card-name").textContent = it.address;
    const facts = make("dl");
    const fact = (name, value) => { if (value) facts.append(make("dt", name), make("dd", value)); };
    const heads = all("thead th", it.row.closest("table"));
    it.row.querySelectorAll("td:not(.tick)").forEach((cell, n) => fact(heads[n + 1].textContent, cell.textContent));
    fact("Sheet", it.section.dataset.sheet);
    fact("Machine", it.section.dataset.machine);
    const body = by("card-body");
    body.replaceChildren(facts);
    const link = one("td a", it.row);
    const sum = link && by(link.hash.slice(1));
    if (sum) {
      body.append(make("h3", one("summary", sum).textContent));
      for (const part of all("table, ul", sum)) body.append(part.cloneNode(true));
    }
    by("card").hidden = false;
    document.body.classList.add("with-card");
    press();
  };
  const hide = () => {
    if (!shown) return;
    for (const node of [shown.path, shown.row]) node.classList.remove("now");
    const had = by("card").contains(document.activeElement);
    const last = back || shown.path;
    shown = null;
    pinned = false;
    back = null;
    by("card").hidden = true;
    document.body.classList.remove("with-card");
    if (had) {
      leaving = true;
      last.focus({ preventScroll: true });
      leaving = false;
    }
  };
  by("close").addEventListener("click", hide);
  for (const button of all("#card [data-state]")) {
    button.addEventListener("click", () => { if (shown) tick(shown, button.dataset.state); });
  }

  // Pictures: what is seen of them is their viewBox.
  const pictures = new Map();
  for (const svg of all("svg.picture")) {
    const home = svg.getAttribute("viewBox").split(" ").map(Number);
    pictures.set(svg, { svg, home, view: home.slice(), due: false, fingers: new Map(), moved: false, area: null });
  }
  const draw = (pic) => {
    if (pic.due) return;
    pic.due = true;
    requestAnimationFrame(() => {
      pic.due = false;
      pic.svg.setAttribute("viewBox", pic.view.map((n) => n.toFixed(3)).join(" "));
      pic.svg.classList.toggle("zoomed", pic.view[2] < pic.home[2] * 0.999);
    });
  };
  const measure = (pic) => { pic.area = pic.svg.getBoundingClientRect(); };
  // Millimetres of the page a dot, and where a dot of the screen lies in the picture.
  const grain = (pic, view = pic.view) => Math.max(view[2] / pic.area.width, view[3] / pic.area.height);
  const spot = (pic, x, y) => {
    const g = grain(pic);
    const [left, top, wide, high] = pic.view;
    return [left + wide / 2 + (x - pic.area.left - pic.area.width / 2) * g, top + high / 2 + (y - pic.area.top - pic.area.height / 2) * g];
  };
  const settle = (pic) => {
    const [left, top, wide, high] = pic.home;
    pic.view[0] = Math.min(Math.max(pic.view[0], left - pic.view[2] / 2), left + wide - pic.view[2] / 2);
    pic.view[1] = Math.min(Math.max(pic.view[1], top - pic.view[3] / 2), top + high - pic.view[3] / 2);
    draw(pic);
  };
  const zoom = (pic, factor, at) => {
    const wide = Math.min(Math.max(pic.view[2] * factor, pic.home[2] / 60), pic.home[2]);
    const share = wide / pic.view[2];
    const [x, y] = at || [pic.view[0] + pic.view[2] / 2, pic.view[1] + pic.view[3] / 2];
    pic.view = [x - (x - pic.view[0]) * share, y - (y - pic.view[1]) * share, wide, pic.view[3] * share];
    if (share === 1 && wide === pic.home[2]) pic.view = pic.home.slice();
    settle(pic);
  };
  const whole = (pic) => { pic.view = pic.home.slice(); draw(pic); };
  // Brings a piece into sight; asked to, near enough to be read.
  const bring = (it, near) => {
    const pic = pictures.get(it.path.ownerSVGElement);
    const box = it.path.getBBox();
    const x = box.x + box.width / 2, y = box.y + box.height / 2;
    if (near) {
      const share = Math.min(1, Math.max(6 * Math.max(box.width / pic.home[2], box.height / pic.home[3]), 0.15));
      pic.view = [0, 0, pic.home[2] * share, pic.home[3] * share];
    }
    const [left, top, wide, high] = pic.view;
    if (near || x < left || y < top || x > left + wide || y > top + high) {
      pic.view[0] = x - wide / 2;
      pic.view[1] = y - high / 2;
      settle(pic);
    }
  };
  const go = (it, near) => {
    show(it, true);
    bring(it, near);
    it.path.focus({ preventScroll: true });
  };

  for (const pic of pictures.values()) {
    const { svg } = pic;
    const section = svg.closest("section");
    svg.addEventListener("wheel", (event) => {
      // A wheel that only passes by goes on scrolling the page.
      if (!event.ctrlKey && !svg.contains(document.activeElement)) return;
      event.preventDefault();
      measure(pic);
      zoom(pic, Math.pow(1.0015, Math.max(-300, Math.min(300, event.deltaY))), spot(pic, event.clientX, event.clientY));
    }, { passive: false });
    svg.addEventListener("pointerdown", (event) => {
      measure(pic);
      pic.fingers.set(event.pointerId, [event.clientX, event.clientY]);
      if (pic.fingers.size === 1) { pic.moved = false; pic.from = [event.clientX, event.clientY]; }
    });
    svg.addEventListener("pointermove", (event) => {
      const was = pic.fingers.get(event.pointerId);
      if (!was) return;
      const now = [event.clientX, event.clientY];
      if (!pic.moved && Math.hypot(now[0] - pic.from[0], now[1] - pic.from[1]) < 6) return;
      if (!pic.moved) {
        pic.moved = true;
        svg.setPointerCapture(event.pointerId);
      }
      const other = Array.from(pic.fingers).find(([id]) => id !== event.pointerId);
      if (other) {
        const apart = (p) => Math.hypot(p[0] - other[1][0], p[1] - other[1][1]);
        const middle = [(now[0] + other[1][0]) / 2, (now[1] + other[1][1]) / 2];
        zoom(pic, apart(was) / Math.max(apart(now), 1), spot(pic, middle[0], middle[1]));
      }
      const g = grain(pic) / (other ? 2 : 1);
      pic.view[0] -= (now[0] - was[0]) * g;
      pic.view[1] -= (now[1] - was[1]) * g;
      pic.fingers.set(event.pointerId, now);
      settle(pic);
    });
    const up = (event) => { pic.fingers.delete(event.pointerId); };
    svg.addEventListener("pointerup", up);
    svg.addEventListener("pointercancel", up);
    const piece = (event) => pieces.get(event.target.id);
    svg.addEventListener("pointerover", (event) => {
      const it = piece(event);
      if (it && !pinned && event.pointerType === "mouse" && pic.fingers.size === 0) show(it, false);
    });
    svg.addEventListener("focusin", (event) => { const it = piece(event); if (it && !leaving) show(it, false); });
    svg.addEventListener("click", (event) => {
      const it = piece(event);
      if (it && !pic.moved) show(it, true);
    });
    svg.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      const here = piece(event);
      const own = list.filter((it) => it.section === section);
      const at = here ? own.indexOf(here) : -1;
      const to = (n) => { const it = own[Math.max(0, Math.min(own.length - 1, n))]; if (it) { go(it, false); say(it.path.getAttribute("aria-label")); } };
      const state = { c: "good", g: "glued", f: "failed" }[event.key.toLowerCase()];
      if (event.key === "+" || event.key === "=") zoom(pic, 0.7);
      else if (event.key === "-" || event.key === "\u2212") zoom(pic, 1 / 0.7);
      else if (event.key === "0") whole(pic);
      else if (event.key === "ArrowRight" || event.key === "ArrowDown") to(at + 1);
      else if (event.key === "ArrowLeft" || event.key === "ArrowUp") to(at - 1);
      else if (event.key === "Home") to(0);
      else if (event.key === "End") to(own.length - 1);
      else if (here && (event.key === "Enter" || event.key === " ")) { show(here, true); back = here.path; by("card-name").focus({ preventScroll: true }); }
      else if (here && state) tick(here, state);
      else return;
      event.preventDefault();
    });
    for (const button of all("[data-zoom]", section)) {
      button.addEventListener("click", () => {
        if (button.dataset.zoom === "all") whole(pic);
        else zoom(pic, button.dataset.zoom === "in" ? 0.7 : 1 / 0.7);
      });
    }
  }
  document.addEventListener("keydown", (event) => { if (event.key === "Escape") hide(); });
  for (const it of list) {
    const button = one("button", it.row);
    button.addEventListener("keydown", (event) => {
      const down = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      const next = down && list[it.place + down];
      if (!next || next.section !== it.section) return;
      event.preventDefault();
      const other = one("button", next.row);
      button.tabIndex = -1;
      other.tabIndex = 0;
      other.focus();
    });
    button.addEventListener("click", (event) => {
      go(it, true);
      it.path.ownerSVGElement.scrollIntoView({ block: "center", behavior: still.matches ? "auto" : "smooth" });
      back = event.currentTarget;
    });
  }

  // Finding: a whole address first, then a number, then whatever holds the text.
  let asked = "";
  let turn = 0;
  const find = () => {
    const text = by("find").value.trim().toLowerCase();
    if (!text) { say("type a number or an address"); return; }
    const ranks = [
      (it) => it.address.toLowerCase() === text,
      (it) => it.address.split(":")[1].split(/[/+]/)[0] === text,
      (it) => it.row.dataset.label.toLowerCase() === text,
      (it) => it.address.toLowerCase().includes(text),
    ];
    const found = ranks.map((rank) => list.filter(rank)).find((some) => some.length) || [];
    turn = text === asked ? (turn + 1) % Math.max(found.length, 1) : 0;
    asked = text;
    if (!found.length) { say("no piece is called " + text); return; }
    const it = found[turn];
    show(it, true);
    bring(it, true);
    it.path.ownerSVGElement.scrollIntoView({ block: "center", behavior: still.matches ? "auto" : "smooth" });
    const again = found.length > 1 ? "; Find again for the next" : "";
    say((turn + 1) + " of " + found.length + ": " + it.address + " on " + it.section.dataset.sheet + again);
  };
  by("go").addEventListener("click", find);
  by("find").addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); find(); } });

  by("export").addEventListener("click", () => {
    const ticked = list.filter((it) => it.state).map((it) => ({ address: it.address, state: it.state }));
    const text = JSON.stringify({ lay, hash, pieces: ticked }, null, 1) + "\n";
    by("exported").hidden = false;
    by("exported-text").value = text;
    const link = make("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    link.download = "tally.json";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    say("tally.json with " + ticked.length + " pieces; then type: pouchwork tally --from tally.json");
  });

  // The order of cutting, step by step.
  for (const box of all(".steps")) {
    const section = box.closest("section");
    const groups = all("g.order", section);
    const [choice, told] = [one("select", box), one("output", box)];
    const play = one("[data-step=play]", box);
    let group = groups[0], cuts = all("path", group), at = 0, clock = 0;
    const tell = () => {
      const cut = cuts[at - 1];
      told.textContent = cut
        ? at + " of " + cuts.length + ": " + cut.dataset.of + ", " + (cut.classList.contains("hole") ? "hole" : "outline")
        : "before the first cut of " + cuts.length;
    };
    const step = (n) => {
      const to = Math.max(0, Math.min(cuts.length, at + n));
      if (cuts[at - 1]) cuts[at - 1].classList.remove("cut-now");
      if (to > at && cuts[at - 1]) cuts[at - 1].classList.add("past");
      at = to;
      if (cuts[at - 1]) { cuts[at - 1].classList.remove("past"); cuts[at - 1].classList.add("cut-now"); }
      group.toggleAttribute("hidden", at === 0);
      tell();
    };
    const stop = () => {
      clearInterval(clock);
      clock = 0;
      play.textContent = "Play";
      told.setAttribute("aria-live", "polite");
    };
    const quiet = () => { play.hidden = still.matches; if (still.matches) stop(); };
    still.addEventListener("change", quiet);
    quiet();
    one("[data-step=back]", box).addEventListener("click", () => { stop(); step(-1); });
    one("[data-step=on]", box).addEventListener("click", () => { stop(); step(1); });
    play.addEventListener("click", () => {
      if (clock) { stop(); return; }
      told.setAttribute("aria-live", "off");
      play.textContent = "Stop";
      clock = setInterval(() => { step(1); if (at === cuts.length) stop(); }, 500);
    });
    if (choice) choice.addEventListener("change", () => {
      stop();
      for (const cut of cuts) cut.classList.remove("past", "cut-now");
      group.toggleAttribute("hidden", true);
      group = groups[choice.selectedIndex];
      cuts = all("path", group);
      at = 0;
      tell();
    });
    tell();
  }

  // Paper gets whole pictures.
  addEventListener("beforeprint", () => {
    for (const pic of pictures.values()) pic.svg.setAttribute("viewBox", pic.home.join(" "));
  });
  addEventListener("afterprint", () => { for (const pic of pictures.values()) draw(pic); });

  recall();
  count();
  const named = pieces.get(decodeURIComponent(location.hash.slice(1)));
  if (named) { show(named, true); bring(named, true); }
})();
