"""Uses a job sheet as it is used at the bench: by two fingers, step by step, over a reload, on a phone.

Called by page_check.py. Touches are those of the Chrome DevTools Protocol, version 1.3 (Input.dispatchTouchEvent).
Reflow at a width of some 320 to 400 px without scrolling sideways: WCAG 2.2, success criterion 1.4.10.
"""

import re

PHONE = (390, 844, True)
STILL = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(0))))"

# Boxes of words and controls that lie on one another, and whatever reaches beyond the page. Words are taken line by line;
# pictures have a check of their own. A phone shows a page that is too wide at a smaller size, so the screen counts. What stands in a box that scrolls by itself may be wider than the page.
BOXES = """((within) => {
  const root = document.querySelector(within), wide = screen.width, rows = [], out = [];
  const name = (it) => (it.id || it.localName) + " " + (it.textContent || it.placeholder || "").trim().slice(0, 24);
  const scrolls = (it) => { for (it = it.parentElement; it; it = it.parentElement) if (getComputedStyle(it).overflowX !== "visible" && it !== document.body && it !== document.documentElement) return true; return false; };
  const seen = (it) => it.checkVisibility({ visibilityProperty: true }) && !it.closest("svg, option") && getComputedStyle(it).clipPath === "none";
  for (const it of root.querySelectorAll("*")) {
    if (!seen(it)) continue;
    if (within === "body" && it.closest("aside")) continue;
    const box = it.getBoundingClientRect();
    if (box.width && (box.right > wide + 0.5 || box.left < -0.5) && !scrolls(it)) out.push(name(it) + " " + Math.round(box.right));
    if (it.matches("button, input, select, textarea")) { rows.push([it, box]); continue; }
    if (it.closest("button, select")) continue;
    for (const node of it.childNodes) {
      if (node.nodeType !== 3 || !node.data.trim()) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const line of range.getClientRects()) if (line.width > 1) rows.push([it, line]);
    }
  }
  rows.sort((a, b) => a[1].top - b[1].top);
  const near = [];
  rows.forEach(([one, a], i) => {
    for (let k = i + 1; k < rows.length && rows[k][1].top < a.bottom - 2; k += 1) {
      const [two, b] = rows[k];
      if (one !== two && a.left < b.right - 2 && b.left < a.right - 2) near.push(name(one) + " / " + name(two));
    }
  });
  return { count: rows.length, near: near.slice(0, 8), out: out.slice(0, 8) };
})"""


def view(browser):
    """What is seen of the first picture: left, top, width, height."""
    browser.run(STILL)
    text = browser.run("document.querySelector('svg.picture').getAttribute('viewBox')")
    return [float(n) for n in text.split()]


def fingers(browser, *points):
    """Fingers on the screen from now on; with none all are lifted."""
    kind = "touchMove" if points else "touchEnd"
    at = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]
    browser.ask("Input.dispatchTouchEvent", type=kind, touchPoints=at)


def down(browser, *points):
    """Fingers come down, one after the other."""
    for count in range(1, len(points) + 1):
        at = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points[:count])]
        browser.ask("Input.dispatchTouchEvent", type="touchStart", touchPoints=at)


def spot(area, seen, at):
    """Where a point of the screen lies in the picture, whose view is whole in the middle of its area."""
    grain = max(seen[2] / area["width"], seen[3] / area["height"])
    x = seen[0] + seen[2] / 2 + (at[0] - area["x"] - area["width"] / 2) * grain
    y = seen[1] + seen[3] / 2 + (at[1] - area["y"] - area["height"] / 2) * grain
    return x, y, grain


def by_fingers(browser, check, path, name):
    """Two fingers apart zoom in about their middle, together out, side by side they move it; one finger taps a piece."""
    browser.screen(*PHONE)
    browser.ask("Emulation.setTouchEmulationEnabled", enabled=True, maxTouchPoints=2)
    browser.open(path)
    browser.run("document.querySelector('svg.picture').scrollIntoView({block: 'center', behavior: 'instant'})")
    browser.run(STILL)
    area = browser.run("(b => ({x: b.x, y: b.y, width: b.width, height: b.height}))(document.querySelector('svg.picture').getBoundingClientRect())")
    scroll = browser.run("scrollY")
    middle = (area["x"] + 0.45 * area["width"], area["y"] + 0.5 * area["height"])
    home = view(browser)
    for way, (dx, dy) in {"across": (1, 0), "up": (0, 1), "aslant": (0.7, 0.7)}.items():
        apart = lambda half: [(middle[0] - half * dx, middle[1] - half * dy), (middle[0] + half * dx, middle[1] + half * dy)]
        before = spot(area, view(browser), middle)
        down(browser, *apart(30))
        for half in range(32, 91, 2):
            fingers(browser, *apart(half))
        fingers(browser)
        near = view(browser)
        after = spot(area, near, middle)
        told = f"{name}: two fingers apart, {way}:"
        check.that(abs(near[2] / home[2] - 1 / 3) < 0.04, f"{told} from {home[2]:.1f} to {near[2]:.1f} mm, not a third")
        off = max(abs(after[0] - before[0]), abs(after[1] - before[1])) / after[2]
        check.that(off < 6, f"{told} the middle went {off:.1f} px away")
        check.same(browser.run("scrollY"), scroll, f"{told} the page moved")
        # Both to the left by 40: the picture goes with them.
        down(browser, *apart(40))
        for step in range(2, 41, 2):
            fingers(browser, *[(x - step, y) for x, y in apart(40)])
        fingers(browser)
        moved = view(browser)
        went = (moved[0] - near[0]) / after[2]
        check.that(abs(moved[2] / near[2] - 1) < 0.03 and abs(went - 40) < 7, f"{told} moved together they go {went:.1f} px")
        down(browser, *apart(90))
        for half in range(88, 19, -2):
            fingers(browser, *apart(half))
        fingers(browser)
        far = view(browser)
        check.that(abs(far[2] / home[2] - 1) < 1e-3, f"{name}: two fingers together, {way}: {far[2]:.1f} of {home[2]:.1f} mm")
    address, x, y = browser.run(
        """(() => { for (const it of document.querySelectorAll("svg.picture path.piece")) {
          const b = it.getBoundingClientRect(), at = [b.x + b.width / 2, b.y + b.height / 2];
          if (document.elementFromPoint(...at) === it) return [it.id, ...at]; } return ["", 0, 0]; })()"""
    )
    down(browser, (x, y))
    fingers(browser)
    browser.run(STILL)
    check.same(browser.run("document.getElementById('card-name').textContent"), address, f"{name}: a tap shows the card")
    browser.ask("Emulation.setTouchEmulationEnabled", enabled=False)


def steps(browser, check, path, name):
    """Every step is the cut that the table numbers so; Play goes on by itself, stops when told and at the end."""
    browser.screen(1280, 800, False)
    browser.media()
    browser.open(path)
    for n, (cuts, numbers) in enumerate(
        browser.run(
            """[...document.querySelectorAll(".steps")].map((box) => {
              const section = box.closest("section"), group = section.querySelector("g.order");
              const heads = [...section.querySelectorAll("thead th")].map((it) => it.textContent);
              const column = heads.findIndex((it) => it.toLowerCase().includes("order"));
              const rows = [...section.querySelectorAll("tr[data-of]")].map((row) => [row.dataset.of, row.children[column].textContent]);
              return [[...group.children].map((it) => it.dataset.of), rows];
            })"""
        )
    ):
        # Of a sheet in bed windows each has its own count: only pieces of the first are looked up.
        inside = set(cuts)
        found = {}
        for address, text in numbers:
            for first, last in re.findall(r"(\d+)(?:-(\d+))?", text) if address in inside else ():
                for number in range(int(first), int(last or first) + 1):
                    found[number] = address
        wanted = dict(enumerate(cuts, 1))
        check.same(found, wanted, f"{name}: the numbers of sheet {n + 1} against its steps")
    told = "document.querySelector('.steps output').textContent"
    press = lambda which: browser.run(f"document.querySelector('.steps [data-step={which}]').click()")
    wait = lambda ms: browser.run(f"new Promise((done) => setTimeout(() => done(0), {ms}))")
    at = lambda: int(browser.run(told).split()[0]) if browser.run(told)[0].isdigit() else 0
    label = "document.querySelector('.steps [data-step=play]').textContent"
    check.same(at(), 0, f"{name}: before the first cut")
    press("play")
    check.same(browser.run(label), "Stop", f"{name}: what Play is called while it goes on")
    wait(1800)
    here = at()
    check.that(2 <= here <= 4, f"{name}: after 1.8 s it is at {here}")
    past = browser.run("document.querySelectorAll('.order path.past').length")
    check.same(past, here - 1, f"{name}: cuts that are past")
    press("play")
    here = at()
    wait(900)
    check.same((at(), browser.run(label)), (here, "Play"), f"{name}: stopped")
    total = browser.run("document.querySelector('g.order').children.length")
    browser.run(f"for (let n = {here}; n < {total} - 1; n += 1) document.querySelector('.steps [data-step=on]').click()")
    press("play")
    wait(1400)
    check.same((at(), browser.run(label)), (total, "Play"), f"{name}: it stops at the last cut")
    press("on")
    check.same(at(), total, f"{name}: no cut beyond the last")
    browser.run(f"for (let n = 0; n < {total}; n += 1) document.querySelector('.steps [data-step=back]').click()")
    check.same(at(), 0, f"{name}: back to the beginning")
    check.same(browser.run("document.querySelectorAll('.order path.past, .order path.cut-now').length"), 0, f"{name}: nothing is left marked")
    choice = browser.run("(it => it ? it.options.length : 0)(document.querySelector('.steps select'))")
    for n in range(choice):
        browser.run(f"(it => {{ it.selectedIndex = {n}; it.dispatchEvent(new Event('change')); }})(document.querySelector('.steps select'))")
        count = browser.run(f"document.querySelector('.steps select').closest('section').querySelectorAll('g.order')[{n}].children.length")
        said = browser.run("document.querySelector('.steps select').closest('.steps').querySelector('output').textContent")
        check.same(said, f"before the first cut of {count}", f"{name}: window {n + 1}")


def kept(browser, check, path, name):
    """Ticks are there again after a reload, and only on the page of their own lay; where nothing is kept, that is told."""
    browser.screen(1280, 800, False)
    browser.open(path)
    browser.run("localStorage.clear()")
    browser.open(path)
    some = browser.run("[...document.querySelectorAll('tr[data-of]')].slice(0, 3).map((it) => it.dataset.of)")
    states = dict(zip(some, ("good", "glued", "failed")))
    for address, state in states.items():
        browser.run(f"[...document.querySelectorAll('tr[data-of]')].find((it) => it.dataset.of === {address!r}).querySelector('button').click()")
        browser.run(f"document.querySelector('#card [data-state={state}]').click()")
    count = browser.run("document.getElementById('count').textContent")
    browser.open(path)
    check.same(browser.run("document.getElementById('count').textContent"), count, f"{name}: the count over a reload")
    check.that(all(f"1 {word}" in count for word in ("cut", "glued", "failed")), f"{name}: {count}")
    for address, state in states.items():
        seen = browser.run(
            f"(it => [it.classList.contains({state!r}), it.getAttribute('aria-label')])(document.getElementById({address!r}))"
        )
        check.that(seen[0] and seen[1] != address, f"{name}: {address} after a reload: {seen}")
    # A tick taken away is gone for good, too.
    browser.run(f"document.querySelector('tr[data-of] button').click()")
    browser.run("document.querySelector('#card [data-state=good]').click()")
    browser.open(path)
    check.that("1 cut" not in browser.run("document.getElementById('count').textContent"), f"{name}: a tick came back")
    source = "Storage.prototype.setItem = () => { throw new Error('none'); };"
    script = browser.ask("Page.addScriptToEvaluateOnNewDocument", source=source)["identifier"]
    browser.open(path)
    browser.run("document.querySelector('tr[data-of] button').click()")
    browser.run("document.querySelector('#card [data-state=failed]').click()")
    text = browser.run("document.getElementById('count').textContent")
    check.that("export before you close" in text, f"{name}: nothing can be kept, and it says {text!r}")
    browser.ask("Page.removeScriptToEvaluateOnNewDocument", identifier=script)
    browser.open(path)
    browser.run("localStorage.clear()")


def on_a_phone(browser, check, path, name):
    """At 390 px no box of words or control lies on another, and nothing is wider than the page; with the card too."""
    browser.screen(*PHONE)
    browser.media(still=True)
    browser.open(path)
    browser.run("scrollTo({top: 0, behavior: 'instant'})")
    browser.run(STILL)
    for shut in (True, False):
        if not shut:
            browser.run("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
        found = browser.run(BOXES + "('body')")
        check.that(found["count"] > 100, f"{name}: only {found['count']} boxes")
        what = "with its sums shut" if shut else "with its sums open"
        check.same(found["near"], [], f"{name}: boxes on one another on a phone, {what}")
        check.same(found["out"], [], f"{name}: wider than a phone, {what}")
    # In use: a search that fails, a step, what was exported; the line above lies in its place.
    browser.run("(it => { it.value = 'no-such-piece-with-a-long-name:1'; document.getElementById('go').click(); })(document.getElementById('find'))")
    browser.run("document.querySelectorAll('[data-step=on]').forEach((it) => it.click())")
    browser.run("document.getElementById('exported').hidden = false")
    browser.run("scrollTo({top: 0, behavior: 'instant'})")
    found = browser.run(BOXES + "('body')")
    check.same((found["near"], found["out"]), ([], []), f"{name}: a phone in use")
    # The measure itself: a heading pushed onto the next line, and a line that is too long, are seen.
    browser.run("document.querySelector('h1').style.marginBottom = '-2rem'")
    browser.run("document.querySelector('p.first').style.minWidth = '30rem'")
    found = browser.run(BOXES + "('body')")
    check.that(found["near"] and found["out"], f"{name}: what lies wrong is not seen: {found}")
    browser.open(path)
    browser.run(STILL)
    browser.run("document.querySelector('tr[data-of] button').click()")
    browser.run("new Promise((done) => setTimeout(() => done(0), 600))")
    found = browser.run(BOXES + "('#card')")
    check.that(found["count"] > 8, f"{name}: only {found['count']} boxes on the card")
    check.same((found["near"], found["out"]), ([], []), f"{name}: the card on a phone")
    # The card hides neither the picture that it is of nor the line above.
    rows = browser.run(
        """["header.bar", "#card"].map((q) => (b => [b.top, b.bottom, b.left, b.right])(document.querySelector(q).getBoundingClientRect()))"""
    )
    check.that(rows[0][1] <= rows[1][0], f"{name}: the card begins at {rows[1][0]}, the bar ends at {rows[0][1]}")
    piece = browser.run("(b => [b.top, b.bottom])(document.querySelector('path.piece.now').getBoundingClientRect())")
    check.that(rows[0][1] - 1 <= piece[0] and piece[1] <= rows[1][0] + 1, f"{name}: the piece of the card at {piece} is hidden")


def all_of_it(browser, check, path, name):
    """Everything of this file."""
    on_a_phone(browser, check, path, name)
    by_fingers(browser, check, path, name)
    steps(browser, check, path, name)
    kept(browser, check, path, name)
    browser.screen(1280, 800, False)
    browser.media()


def shot(browser, path, file):
    """A picture for the README: the page with the card of pouch 31."""
    browser.screen(1100, 760)
    browser.media()
    browser.open(path)
    browser.run("document.getElementById('find').value = 'pouch:31'; document.getElementById('go').click()")
    browser.run("document.querySelector('path.piece.now').ownerSVGElement.scrollIntoView({block: 'center', behavior: 'instant'})")
    browser.run("new Promise((done) => setTimeout(() => done(0), 700))")
    browser.picture(file)
