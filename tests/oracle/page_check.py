"""Opens job sheets in a real browser and uses them by keyboard alone.

    page_check.py BINARY JOB… [--pictures FOLDER]
    page_check.py BINARY JOB --shot FILE

Each JOB is a folder with a lay in out/lay-1. With --shot nothing is checked: FILE gets the picture that the README shows. Contrast: WCAG 2.2, success criterion 1.4.3 (4.5 to 1); size of targets: 2.5.5
(44 px); reflow: 1.4.10. The hash is taken of out/lay-1/lay.json by this program itself.
"""

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time

from browser import Browser, Trouble, program
from page_uses import all_of_it, shot

HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)>'
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
SCREENS = {"phone": (390, 844, True), "tablet": (820, 1180, True), "desktop": (1280, 800, False)}

# Contrast of every text that shows, by its computed colours; in pictures against the worst ground it may lie on.
CONTRAST = """(() => {
  const cut = (text) => { const m = text.match(/[\\d.]+/g).map(Number); return m.length > 3 && m[3] === 0 ? null : m.slice(0, 3); };
  const light = (c) => { const [r, g, b] = c.map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ratio = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  const ground = (it) => { for (; it; it = it.parentElement) { const c = cut(getComputedStyle(it).backgroundColor); if (c) return c; } return [255, 255, 255]; };
  const probe = document.createElement("p"); document.body.append(probe);
  const named = (name) => { probe.style.color = `var(${name})`; return cut(getComputedStyle(probe).color); };
  const grounds = ["--ground", "--paper", "--used", "--spare"].map(named);
  const bad = []; let count = 0;
  for (const it of document.querySelectorAll("body *")) {
    if (it === probe || !it.checkVisibility() || ![...it.childNodes].some((n) => n.nodeType === 3 && n.data.trim())) continue;
    const style = getComputedStyle(it), drawn = it.namespaceURI.endsWith("svg");
    if (drawn && it.localName !== "text") continue;
    const own = cut(drawn ? style.fill : style.color);
    const worst = Math.min(...(drawn ? grounds : [ground(it)]).map((g) => ratio(own, g)));
    count += 1;
    if (worst < 4.5) bad.push(`${it.localName}.${it.className.baseVal ?? it.className} ${it.textContent.slice(0, 20)} ${worst.toFixed(2)}`);
  }
  probe.remove();
  return [count, [...new Set(bad)].slice(0, 8)];
})()"""

# Controls that show and are too small, and pairs of them that lie on one another.
TARGETS = """(() => {
  const all = [...document.querySelectorAll("button, input, select, summary")].filter((it) => it.checkVisibility());
  const rows = all.map((it) => [it, it.getBoundingClientRect()]);
  const name = (it) => it.id || it.textContent.slice(0, 20);
  const small = rows.filter(([, b]) => b.height < 44 || b.width < 44).map(([it]) => name(it));
  const flat = rows.filter(([it]) => !it.closest("header, aside"));
  const near = [];
  for (let i = 0; i < flat.length; i += 1) for (let k = i + 1; k < Math.min(flat.length, i + 12); k += 1) {
    const [a, b] = [flat[i][1], flat[k][1]];
    if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1) near.push(`${name(flat[i][0])}/${name(flat[k][0])}`);
  }
  return { small: small.slice(0, 8), near: near.slice(0, 8), wide: document.documentElement.scrollWidth };
})()"""

# Letters of pictures that lie on one another, by their boxes.
LETTERS = """[...document.querySelectorAll("svg.picture")].flatMap((svg) => {
  const boxes = [...svg.querySelectorAll("text")].map((it) => [it.textContent, it.getBoundingClientRect()]);
  const bad = [];
  boxes.forEach(([one, a], i) => boxes.slice(i + 1).forEach(([two, b]) => {
    const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left), high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    if (wide > 0.15 * Math.min(a.width, b.width) && high > 0.45 * Math.min(a.height, b.height)) bad.push(`${one}/${two}`);
  }));
  return bad;
}).slice(0, 8)"""


class Check:
    """Counts what was looked at and what was wrong."""

    def __init__(self):
        self.count, self.wrong = 0, []

    def that(self, good, words):
        self.count += 1
        if not good:
            self.wrong.append(words)
            print("  WRONG:", words)

    def same(self, got, wanted, words):
        self.that(got == wanted, f"{words}: {got!r}, not {wanted!r}")


def page(binary, job):
    """Makes the job sheet of a job and gives its path."""
    words = [binary, "page", "-q", "-C", job, "lay-1"]
    before = time.monotonic()
    made = subprocess.run(words, capture_output=True, text=True)
    if made.returncode not in (0, 3):
        raise SystemExit(f"{job}: {made.stdout}{made.stderr}")
    path = os.path.join(job, "out/lay-1/job-sheet.html")
    return path, time.monotonic() - before


def quiet(browser, check, path, name, drawn=False):
    """Nothing on the console, no request but the file itself (or the browser's own for grey pictures), no dialog."""
    said = browser.told("Log.entryAdded", "Runtime.consoleAPICalled", "Runtime.exceptionThrown")
    check.same(said, [], f"{name}: console")
    check.same(browser.told("Page.javascriptDialogOpening"), [], f"{name}: dialogs")
    asked = {event["request"]["url"] for event in browser.told("Network.requestWillBeSent")}
    own = "file://" + os.path.abspath(path)
    asked = {url for url in asked if not url.startswith("blob:") and not (drawn and url.startswith("data:"))}
    check.same(asked, {own}, f"{name}: requests")


def names(browser, check, name):
    """Every control has a name that a screen reader can tell."""
    roles = {"button", "link", "searchbox", "textbox", "combobox", "group", "region", "img", "DisclosureTriangle"}
    seen = 0
    for node in browser.ask("Accessibility.getFullAXTree")["nodes"]:
        role = node.get("role", {}).get("value")
        if node.get("ignored") or role not in roles:
            continue
        told = node.get("name", {}).get("value", "").strip()
        focusable = any(p["name"] == "focusable" for p in node.get("properties", []))
        if role == "group" and not focusable:
            continue
        seen += 1
        check.that(told, f"{name}: a {role} has no name")
    return seen


def by_keyboard(browser, check, job, name):
    """Finds, ticks, steps and exports without a mouse."""
    first = browser.run("document.querySelector('tr[data-of]').dataset.of")
    number = first.split(":")[1].split("/")[0].split("+")[0]
    state = "document.getElementById('card-name').textContent"
    browser.tab_to("it.id === 'find'")
    browser.keys("no-such:1")
    browser.key("Enter")
    check.same(browser.run("document.getElementById('said').textContent"), "no piece is called no-such:1", name)
    for text in (number, first):
        browser.run("document.getElementById('find').value = ''")
        browser.keys(text)
        browser.key("Enter")
        found = browser.run(state)
        good = found == text if ":" in text else re.search(rf":{text}(\D|$)", found)
        check.that(good, f"{name}: {text} finds {found}")
    said = browser.run("document.getElementById('said').textContent")
    check.that(first in said, f"{name}: said {said!r}")
    card = browser.run("document.getElementById('card').innerText")
    for word in ("Finished size", "Lies", "Cuts in order", "Sheet", "Machine", "=", "width of the cut"):
        check.that(word in card, f"{name}: the card has no {word!r}")
    browser.tab_to("it.dataset.state === 'glued'")
    browser.key("Enter")
    check.same(browser.run("document.activeElement.getAttribute('aria-pressed')"), "true", f"{name}: pressed")
    browser.key("Escape")
    check.that(browser.run("document.getElementById('card').hidden"), f"{name}: Escape shuts the card")

    browser.tab_to("it.id === 'find'")
    browser.tab_to("it.dataset.step === 'on'")
    told = "document.querySelector('.steps output').textContent"
    cuts = browser.run("document.querySelectorAll('g.order')[0].children.length")
    order = browser.run("[...document.querySelectorAll('g.order')[0].children].slice(0, 2).map((it) => it.dataset.of)")
    for n in (1, 2):
        browser.key("Enter")
        text = browser.run(told)
        check.that(text.startswith(f"{n} of {cuts}: {order[n - 1]}, "), f"{name}: step {n} says {text!r}")
    check.same(browser.run("document.querySelectorAll('.cut-now').length"), 1, f"{name}: one cut is now")
    browser.tab_to("it.dataset.step === 'back'", shift=True)
    browser.key(" ")
    check.that(browser.run(told).startswith("1 of"), f"{name}: back")

    browser.tab_to("it.matches('svg.picture')")
    seen = "document.activeElement.closest('svg').getAttribute('viewBox')"
    still = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(0))))"
    # Finding has brought a picture near: all of it first.
    browser.key("0")
    browser.run(still)
    home = browser.run(seen)
    browser.key("+")
    browser.run(still)
    check.that(browser.run(seen) != home, f"{name}: + zooms")
    browser.key("0")
    browser.run(still)
    check.same([float(n) for n in browser.run(seen).split()], [float(n) for n in home.split()], f"{name}: 0 shows all")
    wanted = {first: "glued"}
    for key, word in (("c", "good"), ("f", "failed")):
        browser.key("ArrowRight")
        at = browser.run("document.activeElement.id")
        check.that(at, f"{name}: an arrow goes to a piece")
        browser.key("End" if key == "f" else "Home")
        at = browser.run("document.activeElement.id")
        browser.key(key)
        wanted[at] = word
    browser.tab_to("it.id === 'export'", shift=True)
    browser.key("Enter")
    path = os.path.join(browser.downloads, "tally.json")
    until = time.monotonic() + 20
    while not os.path.exists(path) and time.monotonic() < until:
        browser.run("new Promise((done) => setTimeout(() => done(0), 100))")
    if not os.path.exists(path):
        check.that(False, f"{name}: no tally.json came")
        return
    with open(path) as file:
        text = file.read()
    os.remove(path)
    tally = json.loads(text)
    check.same(text, browser.run("document.getElementById('exported-text').value"), f"{name}: the text to copy")
    with open(os.path.join(job, "out/lay-1/lay.json"), "rb") as file:
        own = hashlib.sha256(file.read()).hexdigest()
    check.same((tally["lay"], tally["hash"]), ("lay-1", own), f"{name}: the tally's lay")
    check.same({p["address"]: p["state"] for p in tally["pieces"]}, wanted, f"{name}: the tally's pieces")


def looks(browser, check, name, folder):
    """Contrast, targets, reflow and letters on every screen; pictures of them where they are wanted."""
    browser.run("document.querySelector('tr[data-of] button').click()")
    for screen, size in SCREENS.items():
        browser.screen(*size)
        for scheme in ("light", "dark"):
            browser.media(scheme)
            count, bad = browser.run(CONTRAST)
            check.that(count > 100, f"{name}: only {count} texts on {screen}")
            check.same(bad, [], f"{name}: contrast on {screen}, {scheme}")
            if folder:
                shots(browser, os.path.join(folder, f"{name}-{screen}-{scheme}"))
        found = browser.run(TARGETS)
        check.same(found["small"], [], f"{name}: small targets on {screen}")
        check.same(found["near"], [], f"{name}: targets on one another on {screen}")
        # A phone would show a page that is too wide at a smaller size: the screen's own width counts.
        check.that(found["wide"] <= size[0], f"{name}: {screen} is {size[0]} px wide, the page {found['wide']} px")
        if screen == "desktop":
            # They lie alike on every screen; on a small one their boxes are of two or three dots, rounded to whole ones.
            check.same(browser.run(LETTERS), [], f"{name}: letters on one another")
    still = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(0))))"
    browser.media("light", still=True)
    browser.run(still)
    check.that(not browser.run("document.querySelector('[data-step=play]').checkVisibility()"), f"{name}: Play where nothing may move")
    browser.media("light")
    browser.run(still)
    check.that(browser.run("document.querySelector('[data-step=play]').checkVisibility()"), f"{name}: no Play")


def shots(browser, stem):
    """The window at its head and at the first sheet, in colour and in grey."""
    still = "new Promise((done) => setTimeout(() => done(0), 700))"
    browser.run("scrollTo({top: 0, behavior: 'instant'})")
    browser.picture(stem + "-head.png")
    browser.run("document.querySelector('section.sheet').scrollIntoView({behavior: 'instant'})")
    browser.run(still)
    browser.picture(stem + "-sheet.png")
    browser.ask("Emulation.setEmulatedVisionDeficiency", type="achromatopsia")
    browser.picture(stem + "-grey.png")
    browser.ask("Emulation.setEmulatedVisionDeficiency", type="none")
    browser.run("document.querySelector('section.sheet .wide').scrollIntoView({behavior: 'instant'})")
    browser.picture(stem + "-table.png")


def on_paper(browser, check, job, name, folder):
    """A page break before each sheet, the lists first, on both papers."""
    keep = folder or tempfile.mkdtemp()
    titles = browser.run("[...document.querySelectorAll('section.sheet > h2')].map((it) => it.textContent)")
    for paper, inches in PAPERS.items():
        path = os.path.join(keep, f"{name}-{paper}.pdf")
        browser.paper(path, inches)
        told = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True)
        pages = told.stdout.split("\f")
        firsts = [" ".join(p.split("\n\n")[0].split()) for p in pages if p.strip()]
        check.that("Safety first" in pages[0], f"{name}: {paper} does not begin with the lists")
        for title in titles:
            check.that(any(first.startswith(title) for first in firsts), f"{name}: {title} begins no page on {paper}")
        check.that("Not for measuring" in told.stdout, f"{name}: {paper} does not say what it is not for")
        size = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
        points = [float(n) for n in re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", size).groups()]
        good = all(abs(p - 72 * i) < 1.5 for p, i in zip(points, inches))
        check.that(good, f"{name}: {paper} is {points}")
    if not folder:
        shutil.rmtree(keep)


def hostile(browser, check, binary, example, folder):
    """Words that a page might take for its own stay words."""
    job = os.path.join(folder, "hostile")
    shutil.copytree(example, job, ignore=shutil.ignore_patterns("out"))
    shutil.copytree(os.path.join(example, "out"), os.path.join(job, "out"))
    shutil.rmtree(os.path.join(job, "out"))
    quoted = HOSTILE.replace('"', '\\"')
    places = 0
    for root, _, files in os.walk(job):
        for file in filter(lambda f: f.endswith(".toml") and f != "answers.toml", files):
            path = os.path.join(root, file)
            with open(path) as old:
                text = old.read()
            text, n = re.subn(r'(?m)^((?:title|why|notes?) *= *)".*"$', lambda m: f'{m[1]}"{quoted}"', text)
            text, more = re.subn(r'(why *= *)"[^"]*"', lambda m: f'{m[1]}"{quoted}"', text) if not n else (text, 0)
            places += n + more
            with open(path, "w") as new:
                new.write(text)
    subprocess.run([binary, "lay", "-q", "-C", job, "--effort", "quick"], check=True, capture_output=True)
    path, _ = page(binary, job)
    browser.open(path)
    quiet(browser, check, path, "hostile")
    check.that(places >= 3, f"only {places} hostile words")
    check.same(browser.run("document.scripts.length"), 1, "hostile: scripts")
    check.same(browser.run("document.images.length"), 0, "hostile: images")
    check.that(HOSTILE in browser.run("document.querySelector('h1').textContent"), "hostile: the title is text")
    browser.run("document.querySelectorAll('tr[data-of] button').forEach((it) => it.click())")
    check.same(browser.told("Page.javascriptDialogOpening"), [], "hostile: dialogs")


THOUSAND = """[job]
title = "a thousand disks"

[machines]
knife = "drag-knife"

[[cloth]]
id       = "C-1"
material = "wool-felt"
width    = "1600 mm"
length   = "1600 mm"

[[part]]
name     = "disk"
kind     = "disk"
count    = 1000
diameter = "30 mm"
material = "wool-felt"
cut-with = "knife"
"""


def frames(browser, binary, path):
    """Script time of a frame while a thousand pieces are dragged about (ms)."""
    browser.screen(*SCREENS["desktop"])
    browser.open(path)
    browser.run("document.querySelector('svg.picture').scrollIntoView({block: 'center', behavior: 'instant'})")
    browser.run("document.querySelector('[data-zoom=in]').click()")
    box = browser.run("(b => [b.left + b.width / 2, b.top + b.height / 2])(document.querySelector('svg.picture').getBoundingClientRect())")
    measure = lambda: {m["name"]: m["value"] for m in browser.ask("Performance.getMetrics")["metrics"]}
    mouse = lambda kind, dx, **more: browser.ask("Input.dispatchMouseEvent", type=kind, x=box[0] + dx, y=box[1], **more)
    mouse("mousePressed", 0, button="left", clickCount=1)
    before, count = measure(), 100
    for n in range(count):
        mouse("mouseMoved", 10 + (n % 40), button="left", buttons=1)
    after = measure()
    mouse("mouseReleased", 0, button="left", clickCount=1)
    pieces = browser.run("document.querySelectorAll('path.piece').length")
    script = 1000 * (after["ScriptDuration"] - before["ScriptDuration"]) / count
    style = 1000 * (after["RecalcStyleDuration"] + after["LayoutDuration"] - before["RecalcStyleDuration"] - before["LayoutDuration"]) / count
    print(f"pan: {pieces} pieces, {script:.2f} ms of script and {style:.2f} ms of style and layout a frame")


def main():
    words = sys.argv[1:]
    folder = None
    if "--shot" in words:
        with Browser() as browser:
            shot(browser, page(words[0], words[1])[0], words[words.index("--shot") + 1])
        return
    if "--pictures" in words:
        at = words.index("--pictures")
        folder = words[at + 1]
        del words[at : at + 2]
        os.makedirs(folder, exist_ok=True)
    binary, jobs = os.path.abspath(words[0]), words[1:]
    if not program() or not shutil.which("pdftotext"):
        raise SystemExit("chromium and pdftotext are needed")
    check = Check()
    with tempfile.TemporaryDirectory() as work, Browser() as browser:
        for job in jobs:
            name = os.path.basename(os.path.normpath(job))
            path, seconds = page(binary, job)
            browser.screen(*SCREENS["desktop"])
            browser.media()
            browser.open(path)
            size = os.path.getsize(path)
            print(f"{name}: {size / 1e6:.2f} MB, made in {seconds:.2f} s")
            check.that(size < 3e6, f"{name}: {size} bytes")
            by_keyboard(browser, check, job, name)
            seen = names(browser, check, name)
            check.that(seen > 100, f"{name}: only {seen} controls with names")
            on_paper(browser, check, job, name, folder)
            looks(browser, check, name, folder)
            quiet(browser, check, path, name, drawn=bool(folder))
            all_of_it(browser, check, path, name)
            quiet(browser, check, path, name)
        hostile(browser, check, binary, jobs[0], work)
        thousand = os.path.join(work, "thousand")
        os.mkdir(thousand)
        with open(os.path.join(thousand, "job.toml"), "w") as file:
            file.write(THOUSAND)
        laid = subprocess.run([binary, "lay", "-q", "-C", thousand, "--effort", "quick"], capture_output=True, text=True)
        if laid.returncode not in (0, 3):
            raise SystemExit(laid.stdout + laid.stderr)
        frames(browser, binary, page(binary, thousand)[0])
    print(f"{check.count} checks, {len(check.wrong)} wrong")
    if check.wrong:
        raise SystemExit(1)


if __name__ == "__main__":
    try:
        main()
    except Trouble as trouble:
        raise SystemExit(f"browser: {trouble}") from trouble
