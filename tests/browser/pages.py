"""Reports and the live page in a real browser: headless Chromium, driven through WebDriver.

Run by `tests/browser/run`, which says what it needs. Pictures of every page, phone and desktop, light and dark, are kept in
the folder named by HOSEWRIGHT_PICTURES, for people to look at.
"""

import base64
import http.client
import http.server
import json
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import threading
import time
import unittest

from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("HOSEWRIGHT", str(ROOT / "target/debug/hosewright"))
PICTURES = os.environ.get("HOSEWRIGHT_PICTURES")
AXE = pathlib.Path(os.environ.get("HOSEWRIGHT_AXE", ROOT / "target/browser-tests/axe.min.js"))

STUDY = """/* # A plot with a slider

   Willow Lane, plot 7 (an invented garden). <b>No markup</b> of prose passes. */
let length = slider("feed length", 25.ft, 300.ft, 100.ft);
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
    >> head("berry", (5/32).inch).operating_range(30.psi, 60.psi);
let here = plot.with("feed.length", length);

// ## What reaches the berries
here.run();
here.run().pressure("berry");

// ## By length
let lengths = sweep(plot, vary("feed.length", steps(25.ft, 600.ft, 25.ft)));
lengths;
chart(lengths).x("feed.length").y("berry.pressure").mark(length, "chosen").save("lengths.svg");

// ## Apart
let apart = 7;
apart * 6;
"""

CONTROLS = """// # Controls of all kinds
let length = slider("length", 25.ft, 300.ft, 100.ft);
let heads = slider("heads", 1, 8, 4);
let hose = choice("hose", [(1/2).inch, (5/8).inch, (3/4).inch], (5/8).inch);
let boost = checkbox("boost", false);
let price = number_field("price", 0.USD, 900.USD, 180.USD);
`length ${length}, heads ${heads}, hose ${hose}, boost ${boost}, price ${price}`;
"""


def browser(width=1100, height=900, dark=False):
    options = webdriver.ChromeOptions()
    options.binary_location = "/usr/bin/chromium"
    for flag in [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--hide-scrollbars",
        f"--user-data-dir={tempfile.mkdtemp()}",
        f"--window-size={width},{height}",
    ]:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service("/usr/bin/chromedriver"))
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    scheme = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": scheme})
    return driver


def wait_for(condition, what, seconds=10):
    until = time.time() + seconds
    while time.time() < until:
        found = condition()
        if found:
            return found
        time.sleep(0.02)
    raise AssertionError(f"waited in vain for {what}")


def picture(driver, name):
    if not PICTURES:
        return
    height = driver.execute_script("return document.documentElement.scrollHeight")
    width = driver.execute_script("return innerWidth")
    size = {"width": width, "height": min(height, 4000), "deviceScaleFactor": 1, "mobile": width < 600}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    pathlib.Path(PICTURES).mkdir(parents=True, exist_ok=True)
    driver.save_screenshot(str(pathlib.Path(PICTURES) / f"{name}.png"))


def stands_out(driver):
    """What is wider than the page and does not scroll in a box of its own, drawings included."""
    return driver.execute_script(
        """
        const width = document.documentElement.clientWidth;
        const boxed = node => node.closest("pre.columns, .table .scroll, figure.long .scroll");
        return [...document.querySelectorAll("body *")]
          .filter(node => !node.closest(".skip") && node.getBoundingClientRect().right > width + 1)
          .filter(node => !boxed(node) || boxed(node) === node)
          .map(node => node.tagName + " " + node.textContent.slice(0, 40));
        """
    )


def requests(driver):
    """Addresses of all requests since the last call."""
    messages = (json.loads(entry["message"])["message"] for entry in driver.get_log("performance"))
    sent = [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]
    return [url for url in sent if not url.startswith(("data:", "chrome:", "chrome-untrusted:"))]


def luminance(color):
    parts = [float(p) / 255 for p in color[color.index("(") + 1 : -1].split(",")[:3]]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def weak_contrasts(driver):
    """Texts whose contrast is below 4.5 to 1 (WCAG 2.2, success criterion 1.4.3)."""
    found = driver.execute_script(
        """
        const weak = [];
        const ground = node => {
          for (; node; node = node.parentElement) {
            const color = getComputedStyle(node).backgroundColor;
            if (!/, 0\\)$|transparent/.test(color)) return color;
          }
          return "rgb(255, 255, 255)";
        };
        for (const node of document.querySelectorAll("body *:not(script)"))
          if ([...node.childNodes].some(c => c.nodeType === 3 && c.textContent.trim()))
            weak.push([getComputedStyle(node).color, ground(node), node.tagName + "." + node.className]);
        return weak;
        """
    )
    weak = set()
    for ink, ground, name in found:
        a, b = sorted([luminance(ink), luminance(ground)], reverse=True)
        if (a + 0.05) / (b + 0.05) < 4.5:
            weak.add(f"{name}: {ink} on {ground}")
    return sorted(weak)


def barriers(driver):
    """What axe-core finds wrong by its rules for WCAG 2.2, levels A and AA, and for good practice."""
    driver.execute_script(AXE.read_text())
    found = driver.execute_async_script(
        "const done = arguments[0]; axe.run(document, { resultTypes: ['violations'] }).then(r => done(r.violations), e => done([{ id: String(e), nodes: [] }]));"
    )
    return [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found]


# What would betray itself if a browser ran it: in the title, by a request, or by a window.
STRIKE = "document.title='struck';fetch('/struck');new Image().src='http://127.0.0.1:9/struck'"

# Drawings that run a script when they stand in a page as markup.
HOSTILE_DRAWINGS = [
    f"<svg xmlns='http://www.w3.org/2000/svg'><script>{STRIKE}</script><rect width='9' height='9'/></svg>",
    f'<svg xmlns="http://www.w3.org/2000/svg" onload="{STRIKE}"><rect width="9" height="9"/></svg>',
    f'<svg xmlns="http://www.w3.org/2000/svg"><rect x=">" onload="{STRIKE}" onmouseover="{STRIKE}" width="9" height="9"/></svg>',
    f'<svg\fonload="{STRIKE}"><rect width="900" height="900" onmouseover="{STRIKE}"/></svg>',
    f'<svg xmlns="http://www.w3.org/2000/svg"><rect width="9" height="9" fill=">"\fonclick="{STRIKE}"/><title>a</title></svg>',
    f'<svg xmlns="http://www.w3.org/2000/svg"><foreignObject><iframe srcdoc="<script>{STRIKE}</script>"/></foreignObject></svg>',
    f'<svg xmlns="http://www.w3.org/2000/svg"><image href="http://127.0.0.1:9/struck"/><use href="http://127.0.0.1:9/struck"/></svg>',
    f'"></div><script>{STRIKE}</script><svg><title>"></img><script>{STRIKE}</script></title></svg>',
    f"<svg><desc>&lt;img src=x onerror=\"{STRIKE}\"&gt;</desc></svg>",
]

# Words that would do so in prose, texts of tables, names and messages.
HOSTILE_WORDS = [
    f"<script>{STRIKE}</script>",
    f"<img src=x onerror=\"{STRIKE}\">",
    f"\"><svg onload=\"{STRIKE}\">",
    f"'-alert(1)-'</title><script>{STRIKE}</script>",
    "</script><script>document.title='struck'</script>",
    "<style>body { display: none }</style>",
    "<base href='http://127.0.0.1:9/'>",
    "<meta http-equiv='refresh' content='0;url=http://127.0.0.1:9/struck'>",
]


def put_in_their_place(folder, drawings):
    """Another program puts these in the place of the drawings that a study has just saved, before its page is made."""
    places = [folder / f"d{number}.svg" for number in range(len(drawings))]
    wait_for(lambda: all(place.exists() for place in places), "the drawings of the study")
    for place, drawing in zip(places, drawings):
        place.write_text(drawing)
    (folder / "go.csv").write_text("a\n1\n")


def hostile_study(folder, port):
    """A study whose prose, names, texts, table, files and messages all try to run a script and to ask at a port."""
    at_port = lambda text: text.replace("127.0.0.1:9/", f"127.0.0.1:{port}/")
    for number, drawing in enumerate(HOSTILE_DRAWINGS):
        (folder / f"e{number}.svg").write_text(at_port(drawing))
    threading.Thread(target=put_in_their_place, args=(folder, [at_port(drawing) for drawing in HOSTILE_DRAWINGS]), daemon=True).start()
    quoted = lambda words: json.dumps(words)
    rows = ", ".join(f"#{{ word: {quoted(words)}, n: {n} }}" for n, words in enumerate(HOSTILE_WORDS))
    (folder / "words.csv").write_text("word,n\n" + "".join('"' + w.replace('"', '""') + f'",{n}\n' for n, w in enumerate(HOSTILE_WORDS)))
    prose = "\n".join(f"// {words}\n//" for words in HOSTILE_WORDS)
    links = " ".join(f"[a]({to})" for to in ["javascript:document.title='struck'", "data:text/html,<script>1</script>", "JaVaScript&colon;alert(1)"])
    lines = [
        f"// # Hostile {HOSTILE_WORDS[0]}",
        prose,
        f"// {links} ![a](http://127.0.0.1:9/struck.png)",
        "//",
        "// | a | b |\n// |--:|:-:|\n// | <script>document.title='struck'</script> | <img src=x onerror=1> |",
        *[quoted(words) + ";" for words in HOSTILE_WORDS],
        f"table([{rows}]);",
        'read_table("words.csv");',
        'let curve = chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b");',
        *[f'curve.save("d{number}.svg");' for number in range(len(HOSTILE_DRAWINGS))],
        'loop { try { read_table("go.csv"); break; } catch { } }',
        f"slider({quoted(HOSTILE_WORDS[1])}, 1, 9, 2);",
        f"hose(100.ft, (5/8).inch).named({quoted('h <img src=x onerror=1>')});",
        f'chart(table([#{{ a: 1, b: 2 }}, #{{ a: 2, b: 3 }}])).x("a").y("b").mark(2, {quoted(HOSTILE_WORDS[0])});',
        f"throw {quoted(HOSTILE_WORDS[1])};",
    ]
    return at_port("\n".join(lines) + "\n")


class Pages(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.folder)
        self.drivers = []

    def open(self, url, **how):
        driver = browser(**how)
        self.drivers.append(driver)
        self.addCleanup(driver.quit)
        driver.get(url)
        return driver

    def is_quiet(self, driver, allowed):
        """No message on the console, and no request to anywhere else."""
        self.assertEqual([entry["message"] for entry in driver.get_log("browser")], [])
        self.assertEqual([url for url in requests(driver) if not url.startswith(allowed)], [])

    def report(self, name, text):
        file = self.folder / name
        file.write_text(text)
        subprocess.run([PROGRAM, "run", str(file), "--report"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        return file.with_suffix(".html")


    def struck(self):
        """Listens at a port of its own; what is asked there has got out of a page."""
        self.strikes = strikes = []

        class Struck(http.server.BaseHTTPRequestHandler):
            def do_GET(self):
                strikes.append(self.path)
                self.send_error(404)

            def log_message(self, *_):
                pass

        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Struck)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.addCleanup(lambda: (server.shutdown(), server.server_close()))
        self.port = server.server_address[1]
        return self.port

    def is_unharmed(self, driver, allowed):
        """No script of the study has run, and none of it stands in the page as markup."""
        wait_for(lambda: driver.find_elements(By.CSS_SELECTOR, "footer"), "the page")
        drawings = driver.find_elements(By.CSS_SELECTOR, "figure img")
        self.assertEqual(len(drawings), len(HOSTILE_DRAWINGS) + 1)
        for drawing in drawings:
            webdriver.ActionChains(driver).move_to_element(drawing).click().perform()
        for link in driver.find_elements(By.CSS_SELECTOR, ".prose a"):
            self.assertEqual(link.get_attribute("href").split("#")[0], driver.current_url.split("#")[0])
        time.sleep(0.3)
        self.assertTrue(driver.title.startswith("Hostile"), driver.title)
        self.assertEqual([url for url in requests(driver) if not url.startswith(allowed) or "struck" in url], [])
        self.assertEqual(self.strikes, [])
        for words in HOSTILE_WORDS:
            self.assertIn(words[:20], driver.find_element(By.TAG_NAME, "body").text)
        foreign = "body script ~ script, main script, main style, main svg, base, iframe, [onerror], [onload], [onclick], [onmouseover]"
        self.assertEqual(driver.find_elements(By.CSS_SELECTOR, foreign), [])
        self.assertEqual([e["message"] for e in driver.get_log("browser") if "Content Security Policy" in e["message"]], [])

    def runs_nothing_that_is_not_ours(self, driver):
        """The rules of the page hold by themselves: what is put into it by force does not run either."""
        driver.execute_script(
            """
            const struck = "document.title = 'struck'";
            const script = document.createElement("script");
            script.textContent = struck;
            document.body.append(script);
            const far = document.createElement("script");
            far.src = "data:text/javascript," + encodeURIComponent(struck);
            document.body.append(far);
            const box = document.createElement("div");
            box.innerHTML = `<img src=x onerror="${struck}"><svg onload="${struck}"></svg><a id=far href="javascript:${struck}">x</a>`;
            document.body.append(box);
            document.getElementById("far").click();
            """
        )
        time.sleep(0.5)
        self.assertNotEqual(driver.title, "struck")
        asked = driver.execute_async_script(
            "const done = arguments[1]; fetch(arguments[0], { mode: 'no-cors' }).then(() => done('let out'), () => done('kept in'));",
            f"http://127.0.0.1:{self.port}/struck",
        )
        self.assertEqual((asked, self.strikes), ("kept in", []))
        refused = [entry["message"] for entry in driver.get_log("browser") if "Content Security Policy" in entry["message"]]
        self.assertGreaterEqual(len(refused), 4, refused)


class Reports(Pages):
    def test_no_drawing_prose_text_or_name_of_a_study_runs_a_script(self):
        page = self.report("hostile.rhai", hostile_study(self.folder, self.struck()))
        driver = self.open(page.as_uri())
        self.is_unharmed(driver, "file:")
        picture(driver, "hostile-report")
        self.runs_nothing_that_is_not_ours(driver)

    def test_a_report_opens_sorts_unfolds_and_asks_for_nothing(self):
        page = self.report("plot.rhai", STUDY)
        driver = self.open(page.as_uri())
        self.assertEqual(driver.title, "A plot with a slider")
        self.assertIn("<b>No markup</b>", driver.find_element(By.CSS_SELECTOR, ".prose").text)
        drawing = driver.find_element(By.CSS_SELECTOR, "figure img")
        self.assertIn("berry pressure", drawing.get_attribute("alt"))
        self.assertGreater(drawing.get_property("naturalWidth"), 300, "the drawing must be drawn")

        table = driver.find_element(By.CSS_SELECTOR, "table.long")
        rows = lambda: [row for row in table.find_elements(By.CSS_SELECTOR, "tbody tr") if row.is_displayed()]
        self.assertEqual(len(rows()), 20)
        unfold = table.find_element(By.XPATH, "ancestor::div[@class='table']").find_element(By.CSS_SELECTOR, ".below button")
        unfold.send_keys(Keys.ENTER)
        self.assertEqual(len(rows()), 24)

        head = table.find_element(By.CSS_SELECTOR, "th button")
        column = lambda: [float(row.find_element(By.CSS_SELECTOR, "td").text) for row in rows()]
        head.send_keys(Keys.SPACE)
        self.assertEqual(column(), sorted(column()))
        driver.execute_script("arguments[0].scrollIntoView({ block: 'center', behavior: 'instant' })", head)
        head.click()
        self.assertEqual(column(), sorted(column(), reverse=True))
        self.assertEqual(head.find_element(By.XPATH, "..").get_attribute("aria-sort"), "descending")
        csv = driver.find_elements(By.CSS_SELECTOR, ".below a[download]")[-1]
        self.assertIn("feed.length%20%5Bft%5D", csv.get_attribute("href"))
        self.is_quiet(driver, "file:")

    def test_errors_stand_in_their_place_and_the_rest_is_there(self):
        page = self.report("faulty.rhai", "// # Faulty\nlet a = 1.psi + 2.ft;\n// Next\na;\n// Last\n6 * 7;\n")
        driver = self.open(page.as_uri())
        self.assertIn("cannot add 1 psi", driver.find_element(By.CSS_SELECTOR, "#cell-1 .failure").text)
        self.assertIn("did not run", driver.find_element(By.CSS_SELECTOR, "#cell-2").text)
        self.assertIn("42", driver.find_element(By.CSS_SELECTOR, "#cell-3 .body").text)
        self.is_quiet(driver, "file:")

    def test_every_width_and_scheme_is_readable(self):
        faulty = "// ## Wrong\nlet a = 1.psi + 2.ft;\na;\nhere.with(\"feed.length\", 500.ft).run().findings();\n"
        page = self.report("all.rhai", STUDY + faulty)
        for width, dark in [(390, False), (390, True), (1280, False), (1280, True)]:
            driver = self.open(page.as_uri(), width=width, dark=dark)
            self.assertEqual(stands_out(driver), [])
            self.assertLessEqual(driver.execute_script("return document.documentElement.scrollWidth"), width)
            self.assertEqual(weak_contrasts(driver), [])
            self.assertEqual(barriers(driver), [])
            unnamed = "button:empty, img:not([alt]), svg, input:not([id])"
            self.assertEqual(driver.find_elements(By.CSS_SELECTOR, unnamed), [])
            picture(driver, f"report-{width}-{'dark' if dark else 'light'}")

    def test_the_studies_that_come_along_are_whole_at_every_width(self):
        for file in [*(ROOT / "scripts").glob("*.rhai"), *(ROOT / "scripts").glob("*.csv")]:
            shutil.copy(file, self.folder)
        for name in sorted(study.stem for study in (ROOT / "scripts").glob("*.rhai")):
            subprocess.run([PROGRAM, "run", str(self.folder / f"{name}.rhai"), "--report"], stdout=subprocess.DEVNULL, check=True)
            for width, dark in [(390, False), (1000, False), (1400, True)]:
                driver = self.open((self.folder / f"{name}.html").as_uri(), width=width, dark=dark)
                self.assertLessEqual(driver.execute_script("return document.documentElement.scrollWidth"), width)
                self.assertEqual(stands_out(driver), [])
                # Code and texts are broken, not cut; only what stands in columns may scroll, and says so by a tab stop.
                cut = driver.execute_script(
                    "return [...document.querySelectorAll('pre, .scroll')].filter(e => e.scrollWidth > e.clientWidth + 1"
                    " && e.tabIndex < 0).map(e => e.textContent.slice(0, 60))"
                )
                self.assertEqual(cut, [])
                levels = driver.execute_script("return [...document.querySelectorAll('h1,h2,h3,h4')].map(e => Number(e.tagName[1]))")
                self.assertIn(levels[:1], [[1], []])  # A study without prose has no heading.
                self.assertTrue(all(b - a <= 1 for a, b in zip(levels, levels[1:])), levels)
                # A title, and behind it a description of the data.
                told = [drawing.get_attribute("alt") for drawing in driver.find_elements(By.CSS_SELECTOR, "figure img")]
                self.assertTrue(all(". " in text and len(text) > 30 for text in told), told)
                self.assertEqual(weak_contrasts(driver), [])
                picture(driver, f"{name}-{width}-{'dark' if dark else 'light'}")
                self.is_quiet(driver, "file:")
                driver.quit()

    def test_a_report_begins_with_its_answers_and_its_code_is_folded_or_left_out(self):
        text = STUDY + "answer(\"Pressure at the berries\", here.run().pressure(\"berry\"));\nlength;\n"
        driver = self.open(self.report("plot.rhai", text).as_uri())
        cards = driver.find_elements(By.CSS_SELECTOR, "#results .card")
        self.assertEqual([card.find_element(By.CSS_SELECTOR, "dt").text for card in cards], ["Pressure at the berries"])
        self.assertRegex(cards[0].find_element(By.CSS_SELECTOR, "dd").text, r"^\d+\.?\d* psi$")
        tops = driver.execute_script("return ['h1', '#results', '#study'].map(one => document.querySelector(one).getBoundingClientRect().top)")
        self.assertEqual(tops, sorted(tops), "title, answers, study")
        self.assertFalse(driver.find_element(By.CSS_SELECTOR, "pre.script").is_displayed())
        driver.find_element(By.CSS_SELECTOR, "details.code summary").click()
        self.assertTrue(driver.find_element(By.CSS_SELECTOR, "pre.script").is_displayed())
        picture(driver, "report-answers")
        subprocess.run([PROGRAM, "run", str(self.folder / "plot.rhai"), "--report", "--code", "out"], stdout=subprocess.DEVNULL, check=True)
        driver.refresh()
        self.assertEqual(driver.find_elements(By.CSS_SELECTOR, "pre.script"), [])
        self.assertTrue(driver.find_elements(By.CSS_SELECTOR, "figure img"))

    def test_names_are_copied_as_they_are(self):
        driver = self.open(self.report("plot.rhai", STUDY).as_uri())
        copied = driver.execute_script(
            "const all = getSelection(); all.selectAllChildren(document.querySelector('table.long')); return all.toString();"
        )
        self.assertIn("feed.length", copied)
        self.assertNotIn("\u200b", driver.page_source)

    def test_texts_of_a_figure_are_readable_on_a_phone(self):
        # A chart, a plan and a card, each drawn for this width.
        text = STUDY + "plan(here.run());\ncard(here).spring_and_fall();\n"
        driver = self.open(self.report("plot.rhai", text).as_uri(), width=390)
        sizes = driver.execute_script(
            """
            return [...document.querySelectorAll("figure img")].map(image => {
              image.scrollIntoView();
              const drawing = new DOMParser().parseFromString(atob(image.currentSrc.split(",")[1]), "image/svg+xml").documentElement;
              const scale = image.getBoundingClientRect().width / Number(drawing.getAttribute("width"));
              return [...drawing.querySelectorAll("text")].map(text => scale * Number(text.closest("[font-size]").getAttribute("font-size")));
            });
            """
        )
        self.assertEqual(len(sizes), 3)
        for texts in sizes:
            self.assertTrue(texts and min(texts) >= 11, texts)
        self.assertEqual(stands_out(driver), [])
        picture(driver, "report-drawings-390")
        wide = self.open((self.folder / "plot.html").as_uri())
        self.assertEqual(wide.execute_script("return document.querySelector('figure img').naturalWidth"), 760)

    def test_a_chart_gives_its_values_to_who_points_at_it_and_to_the_arrow_keys(self):
        page = self.report("plot.rhai", STUDY).as_uri()
        for width in [390, 1100]:
            driver = self.open(page, width=width)
            driver.execute_script("document.querySelector('figure').scrollIntoView({ block: 'center', behavior: 'instant' })")
            tip = lambda: driver.execute_script("return document.querySelector('.tip').hidden ? '' : document.querySelector('.tip').textContent")
            self.assertEqual(tip(), "")
            driver.find_element(By.CSS_SELECTOR, "figure .scroll").send_keys(Keys.ARROW_RIGHT)
            first = r"berry.pressure \d+\.?\d* psi at feed.length 25 ft"
            self.assertRegex(tip(), first)
            # The pointer at the place of that point reads the same.
            place = driver.execute_script("const b = document.querySelector('.spot').getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2]")
            driver.execute_script("document.activeElement.blur()")
            pointer = webdriver.ActionChains(driver)
            pointer.w3c_actions.pointer_action.move_to_location(round(place[0]) + 2, round(place[1]) + 2)
            pointer.perform()
            wait_for(lambda: tip(), "the value")
            self.assertRegex(tip(), first)
            picture(driver, f"report-values-{width}")
            self.is_quiet(driver, "file:")

    def test_bars_boxes_and_fields_give_their_values_to_the_pointer_the_keyboard_and_as_a_table(self):
        text = """// # Values
let t = table([#{ zone: "beds", p: 40.psi }, #{ zone: "lawn", p: 31.psi }, #{ zone: "lawn", p: 35.psi }]);
chart(table([#{ zone: "beds", p: 40.psi }, #{ zone: "lawn", p: 31.psi }])).x("zone").y("p").bars();
chart(t).x("zone").y("p").boxes();
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> head("berry", (5/32).inch);
let s = sweep(plot, vary("feed.length", steps(50.ft, 150.ft, 50.ft)).vary("feed.diameter", [(1/2).inch, (5/8).inch]));
chart(s).x("feed.length").y("feed.diameter").heat("berry.pressure");
"""
        driver = self.open(self.report("values.rhai", text).as_uri())
        figures = driver.find_elements(By.CSS_SELECTOR, "figure")
        tip = lambda: driver.execute_script("return document.querySelector('.tip').hidden ? '' : document.querySelector('.tip').textContent")
        expected = [r"^beds: 40 psi$", r"^beds \(1\), lowest: 40 psi$|^beds, lowest: 40 psi$", r"^berry.pressure [\d.]+ psi at feed.length 50 ft, feed.diameter 0.5 in$"]
        self.assertEqual(len(figures), len(expected))
        for figure, words in zip(figures, expected):
            driver.execute_script("arguments[0].scrollIntoView({ block: 'center', behavior: 'instant' })", figure)
            figure.find_element(By.CSS_SELECTOR, ".scroll").send_keys(Keys.ARROW_RIGHT)
            self.assertRegex(tip(), words)
            said = driver.execute_script("return document.querySelector('.unseen[role=status]').textContent")
            self.assertEqual(said, tip())
            place = driver.execute_script("const b = document.querySelector('.spot').getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2]")
            driver.execute_script("document.activeElement.blur()")
            pointer = webdriver.ActionChains(driver)
            pointer.w3c_actions.pointer_action.move_to_location(round(place[0]) + 1, round(place[1]) + 1)
            pointer.perform()
            wait_for(lambda: tip(), "the value")
            self.assertRegex(tip(), words)
            figure.find_element(By.CSS_SELECTOR, "figcaption button").send_keys(Keys.ENTER)
            rows = [[cell.text for cell in row.find_elements(By.TAG_NAME, "td")] for row in figure.find_elements(By.CSS_SELECTOR, ".values tbody tr")]
            self.assertTrue(len(rows) >= 2 and all(rows), rows)
        self.assertEqual(barriers(driver), [])
        picture(driver, "report-values-of-all-kinds")
        self.is_quiet(driver, "file:")

    def test_panels_timelines_and_maps_give_their_values_too_and_the_ground_its_water(self):
        text = """// # Values
let t = table([#{ l: 50.ft, p: 40.psi, zone: "beds" }, #{ l: 100.ft, p: 34.psi, zone: "beds" }, #{ l: 50.ft, p: 30.psi, zone: "lawn" }]);
chart(t).x("l").y("p").panels("zone");
let spray = |name, x, y| head(name, (3/32).inch).throws(15.ft, 30.psi).arc(90).at(x, y);
let plot = supply(60.psi).measured(50.psi, 8.gpm) >> hose(50.ft, (3/4).inch) >> valve("lawn")
    >> [ spray.call("a", 0.ft, 0.ft), spray.call("b", 20.ft, 0.ft), spray.call("c", 20.ft, 15.ft), spray.call("d", 0.ft, 15.ft) ];
timeline(plot.operate(timer("east").start("05:00").zone("lawn", 20.min), 1.days));
plan(plot.run("lawn"));
plan(plot).by(plot.run("lawn").coverage([0.ft, 20.ft], [0.ft, 15.ft]));
"""
        for width in [390, 1100]:
            driver = self.open(self.report("places.rhai", text).as_uri(), width=width)
            figures = driver.find_elements(By.CSS_SELECTOR, "figure")
            tip = lambda: driver.execute_script("return document.querySelector('.tip').hidden ? '' : document.querySelector('.tip').textContent")
            expected = [r"^p at l 50 ft: 40 psi$|^p of .* at l 50 ft: 40 psi$", r"^pressure of .* at \d\d:\d\d: [\d.]+ psi$|^lawn: on 05:00 to 05:20$", r"^supply: ", r"^supply: "]
            self.assertEqual(len(figures), len(expected))
            for figure, words in zip(figures, expected):
                driver.execute_script("arguments[0].scrollIntoView({ block: 'center', behavior: 'instant' })", figure)
                figure.find_element(By.CSS_SELECTOR, ".scroll").send_keys(Keys.ARROW_RIGHT)
                self.assertRegex(tip(), words)
                driver.execute_script("document.activeElement.blur()")
            # North of the middle of the lawn no thing stands, but water falls.
            box = driver.execute_script("const b = arguments[0].querySelector('img').getBoundingClientRect(), c = JSON.parse(arguments[0].dataset.values), n = innerWidth < 500 ? c.narrow : c, e = n.cells.edges || n.cells, s = b.width / n.size[0]; return [b.left + s * (0.52 * e[0] + 0.48 * e[2]), b.top + s * (0.8 * e[1] + 0.2 * e[3])]", figures[-1])
            pointer = webdriver.ActionChains(driver)
            pointer.w3c_actions.pointer_action.move_to_location(round(box[0]), round(box[1]))
            pointer.perform()
            wait_for(lambda: tip(), "the water")
            self.assertRegex(tip(), r"^application rate: [\d.]+ in/h at [\d.]+ and [\d.]+ ft$")
            picture(driver, f"report-water-{width}")
            self.is_quiet(driver, "file:")

    def test_the_fonts_of_all_drawings_stand_once_in_a_page_and_whole_in_a_saved_drawing(self):
        charts = "".join(f'chart(lengths).x("feed.length").y("berry.pressure").titled("Number {n}").save("n{n}.svg");\n' for n in range(4))
        page = self.report("plot.rhai", STUDY + charts)
        self.assertEqual(page.read_text().count("@font-face"), 2, "one rule for each weight")
        self.assertEqual((self.folder / "n1.svg").read_text().count("@font-face"), 2)
        driver = self.open(page.as_uri())
        inside = "return [...document.querySelectorAll('figure img')].map(image => atob(image.src.split(',')[1]).split('@font-face').length - 1)"
        self.assertEqual(driver.execute_script(inside), [2] * 5)
        self.is_quiet(driver, "file:")

    def test_a_report_with_settings_ahead_works_without_a_server(self):
        file = self.folder / "ahead.rhai"
        file.write_text(CONTROLS)
        told = subprocess.run([PROGRAM, "run", str(file), "--report", "--ahead", "150"], capture_output=True, text=True, check=True).stdout
        self.assertRegex(told, r"\d+ settings were computed ahead: \d+ length x \d+ heads")
        driver = self.open(file.with_suffix(".html").as_uri())
        body = lambda: driver.find_element(By.CSS_SELECTOR, "#cell-1 .body").text
        self.assertIn("length 100 ft, heads 4, hose 5/8 in, boost false", body())
        driver.find_element(By.CSS_SELECTOR, "[data-control='length'] input").send_keys(Keys.END)
        driver.find_element(By.CSS_SELECTOR, "[data-control='boost'] input").send_keys(Keys.SPACE)
        driver.find_element(By.CSS_SELECTOR, "[data-control='hose'] select").send_keys("1/2")
        self.assertIn("length 300 ft, heads 4, hose 1/2 in, boost true", body())
        self.assertEqual(barriers(driver), [])
        picture(driver, "report-ahead")
        link = driver.current_url
        driver.get("about:blank")
        driver.get(link)
        self.assertIn("length 300 ft, heads 4, hose 1/2 in, boost true", body())
        driver.find_element(By.ID, "set-back").click()
        self.assertIn("length 100 ft, heads 4, hose 5/8 in, boost false", body())
        self.is_quiet(driver, "file:")

    def test_a_report_prints_with_numbered_pages_and_repeated_heads(self):
        rows = ", ".join(f"#{{ n: {n}, twice: {2 * n} }}" for n in range(1, 120))
        driver = self.open(self.report("long.rhai", f"/* # Long\n\n   Rows. */\ntable([{rows}]);\n").as_uri())
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        self.assertEqual(driver.execute_script("return getComputedStyle(document.querySelector('thead')).display"), "table-header-group")
        # A heading stays with its prose, and the prose, which is not broken, with what it announces.
        styles = "return [getComputedStyle(document.querySelector('.prose')).breakAfter, getComputedStyle(document.querySelector('.prose p')).breakInside]"
        self.assertEqual(driver.execute_script(styles), ["avoid", "avoid"])
        made = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": False})["data"])
        pages = len(re.findall(rb"/Type\s*/Page\b", made))
        self.assertGreaterEqual(pages, 3)
        if PICTURES:
            (pathlib.Path(PICTURES) / "long.pdf").write_bytes(made)
        # The first page has the heading and the beginning of the table: all of them fit into as many pages as their height needs.
        height = driver.execute_script("return document.body.scrollHeight")
        self.assertLessEqual(pages, height / 700 + 2)

    def test_a_printed_report_shows_all_rows(self):
        driver = self.open(self.report("plot.rhai", STUDY).as_uri())
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        rows = driver.find_elements(By.CSS_SELECTOR, "table.long tbody tr")
        self.assertTrue(all(row.is_displayed() for row in rows) and len(rows) == 24)


class LivePages(Pages):
    def live(self, text):
        self.file = self.folder / "plot.rhai"
        self.file.write_text(text)
        self.server = server = subprocess.Popen([PROGRAM, "live", str(self.file)], stdout=subprocess.PIPE, text=True)
        self.addCleanup(lambda: (server.kill(), server.wait(), server.stdout.close()))
        line = server.stdout.readline()
        # The first address holds the secret; the page itself is below the path.
        address = next(word for word in line.split() if word.startswith("http://127.0.0.1:"))
        self.url, self.key = address.split("?key=")
        return address

    def connected(self, driver):
        state = lambda: driver.find_element(By.ID, "state").text
        wait_for(lambda: state() not in ("", "connecting"), "the connection")

    def test_no_drawing_prose_text_or_name_of_a_study_runs_a_script(self):
        driver = self.open(self.live(hostile_study(self.folder, self.struck())))
        self.connected(driver)
        self.is_unharmed(driver, self.url)
        # Brought by an event, and not with the page, it is as harmless.
        self.file.write_text(self.file.read_text() + "\n// ## More\n1;\n")
        wait_for(lambda: "More" in driver.find_element(By.TAG_NAME, "main").text, "the edit")
        self.is_unharmed(driver, self.url)
        self.runs_nothing_that_is_not_ours(driver)

    def test_a_drawing_that_is_opened_by_itself_runs_nothing(self):
        driver = self.open(self.live(hostile_study(self.folder, self.struck())))
        self.connected(driver)
        # As a file, which nothing holds back, such a drawing does strike.
        driver.get((self.folder / "e1.svg").as_uri())
        wait_for(lambda: self.strikes, "a strike")
        self.strikes.clear()
        for number in range(len(HOSTILE_DRAWINGS)):
            driver.get(f"{self.url}e{number}.svg")
            time.sleep(0.1)
            self.assertNotIn("struck", driver.title)
        time.sleep(0.5)
        self.assertEqual(self.strikes, [])

    def test_the_secret_leaves_the_address_and_a_browser_without_it_sees_nothing(self):
        driver = self.open(self.live(STUDY))
        self.connected(driver)
        self.assertEqual(driver.current_url, self.url)
        driver.refresh()
        self.connected(driver)
        self.assertEqual(driver.execute_script("return document.cookie"), "")
        other = self.open(self.url)
        self.assertNotIn("slider", other.page_source)
        self.assertIn("the address that hosewright printed", other.page_source)

    def test_a_page_that_nobody_looks_at_holds_no_connection_and_is_current_when_it_is_seen_again(self):
        driver = self.open(self.live(STUDY))
        self.connected(driver)
        first = driver.current_window_handle
        # A browser has six connections for one address; more pages than that are open here.
        for _ in range(8):
            driver.switch_to.new_window("tab")
            driver.get(self.url)
            self.connected(driver)
        self.file.write_text(STUDY.replace("apart * 6", "apart * 8"))
        wait_for(lambda: "56" in driver.find_element(By.CSS_SELECTOR, "#cell-4 .body").text, "the edit")
        driver.switch_to.window(first)
        wait_for(lambda: "56" in driver.find_element(By.CSS_SELECTOR, "#cell-4 .body").text, "the edit in the first page")

    def test_a_slider_changes_value_and_chart_and_leaves_the_rest(self):
        driver = self.open(self.live(STUDY))
        self.connected(driver)
        chart = lambda: driver.execute_script("return document.querySelector('figure img').src")
        value = lambda: driver.execute_script("return [...document.querySelectorAll('#cell-2 .body pre')].at(-1).textContent")
        before, first = chart(), value()
        slider = driver.find_element(By.CSS_SELECTOR, "input[type=range]")
        slider.send_keys(Keys.END)
        wait_for(lambda: chart() != before and value() != first, "the chart to change")
        self.assertEqual(driver.find_element(By.CSS_SELECTOR, "output[data-standing]").text, "300 ft")
        note = wait_for(lambda: driver.find_element(By.ID, "note").text, "the note")
        self.assertRegex(note, r"ran \d+ of 10 statements")
        self.assertTrue(driver.switch_to.active_element == slider)
        self.is_quiet(driver, self.url)

        # How long it takes from the move to the changed page.
        took = driver.execute_async_script(
            """
            const done = arguments[0], slider = document.querySelector("input[type=range]");
            const box = document.querySelector("#cell-2 .body");
            const times = [];
            let start;
            const watch = new MutationObserver(() => {
              times.push(performance.now() - start);
              if (times.length === 10) { watch.disconnect(); done(times); } else setTimeout(move, 120);
            });
            watch.observe(box, { childList: true });
            function move() { start = performance.now(); slider.value = 100 + 10 * times.length; slider.dispatchEvent(new Event("input", { bubbles: true })); }
            move();
            """
        )
        print(f"\nslider to changed page: median {sorted(took)[5]:.0f} ms, longest {max(took):.0f} ms")

    def test_two_controls_in_one_instant_both_keep_their_last_value(self):
        driver = self.open(self.live(CONTROLS))
        self.connected(driver)
        driver.execute_script(
            """
            const [one, other] = document.querySelectorAll("#controls input[type=range]");
            const set = (handle, value) => { handle.value = value; handle.dispatchEvent(new Event("input", { bubbles: true })); };
            for (const value of [40, 60, 80, 120]) set(one, value);
            set(other, 7);
            """
        )
        body = lambda: driver.find_element(By.CSS_SELECTOR, "#cell-1 .body").text
        wait_for(lambda: "length 120 ft, heads 7" in body(), "both last values")
        time.sleep(0.3)
        self.assertIn("length 120 ft, heads 7", body())

    def test_controls_of_all_kinds_are_set_by_the_keyboard_linked_set_back_and_written(self):
        driver = self.open(self.live(CONTROLS))
        self.connected(driver)
        body = lambda: driver.find_element(By.CSS_SELECTOR, "#cell-1 .body").text
        control = lambda name, what: driver.find_element(By.CSS_SELECTOR, f"[data-control='{name}'] {what}")
        handle = control("length", "input[type=range]")
        self.assertEqual(handle.get_attribute("aria-valuetext"), "100 ft")
        handle.send_keys(Keys.ARROW_RIGHT)
        wait_for(lambda: "length 102.5 ft" in body(), "the arrow key")
        self.assertEqual(handle.get_attribute("aria-valuetext"), "102.5 ft")
        exact = control("length", "input[type=number]")
        exact.clear()
        exact.send_keys("77", Keys.TAB)
        wait_for(lambda: "length 77 ft" in body(), "the field")
        wait_for(lambda: handle.get_property("value") in ("77.5", "77"), "the handle to follow the field")
        control("hose", "select").send_keys("3/4")
        wait_for(lambda: "hose 3/4 in" in body(), "the choice")
        control("boost", "input").send_keys(Keys.SPACE)
        wait_for(lambda: "boost true" in body(), "the checkbox")
        field = control("price", "input")
        field.clear()
        field.send_keys("5000", Keys.ENTER)
        wait_for(lambda: "price $900.00" in body(), "the field at its upper end")
        self.assertEqual(barriers(driver), [])
        picture(driver, "live-controls")
        # The address has the values; whoever opens it sees the same.
        link = driver.current_url
        self.assertIn("#with:length=77&", link)
        driver.find_element(By.ID, "set-back").click()
        wait_for(lambda: "length 100 ft, heads 4, hose 5/8 in, boost false, price $180.00" in body(), "the starts")
        self.assertNotIn("#with", driver.current_url)
        driver.get("about:blank")
        driver.get(link)
        wait_for(lambda: "length 77 ft" in body() and "boost true" in body() and "hose 3/4 in" in body(), "the values of the link")
        # They become the starts in the file.
        driver.find_element(By.ID, "keep").click()
        wait_for(lambda: "written" in driver.find_element(By.ID, "kept").text, "the file to be written")
        text = self.file.read_text()
        for part in ["300.ft, 77.ft)", "(3/4).inch], (3/4).inch)", '"boost", true)', "900.USD, 900.USD)"]:
            self.assertIn(part, text)
        wait_for(lambda: not driver.find_element(By.ID, "set-back").is_enabled(), "the page to begin with them")
        self.is_quiet(driver, self.url)

    def test_the_controls_stay_in_sight(self):
        for width, height in [(390, 700), (1000, 700), (1500, 800)]:
            driver = self.open(self.live(CONTROLS + "\n// ## Far\n" + "1;\n// more\n" * 60), width=width, height=height)
            self.connected(driver)
            driver.execute_script("scrollTo({ top: 1500, behavior: 'instant' })")
            place = driver.execute_script("const b = document.querySelector('#controls input').getBoundingClientRect(); return [b.top, b.bottom, innerHeight]")
            self.assertTrue(0 <= place[0] and place[1] <= place[2], place)
            share = driver.execute_script("return document.getElementById('panel').getBoundingClientRect().height / innerHeight")
            self.assertTrue(share <= 0.45 or width > 1200, share)
            picture(driver, f"live-panel-{width}")
            self.server.kill()
            driver.quit()

    def test_a_table_keeps_its_order_and_its_rows_while_a_control_is_set(self):
        numbers = ", ".join(str(n) for n in range(1, 31))
        study = CONTROLS + f"\n// ## By length\ntable([{numbers}].map(|n| #{{ n: n, twice: (n * 37 % 31) * heads }}));\n"
        driver = self.open(self.live(study))
        self.connected(driver)
        # In one look: the table is replaced while a control is set.
        shown = "[...document.querySelectorAll('table tbody tr')].filter(row => row.checkVisibility()).map(row => Number(row.cells[1].textContent))"
        column = lambda: driver.execute_script(f"return {shown}")
        driver.find_element(By.CSS_SELECTOR, ".below button").send_keys(Keys.ENTER)
        driver.find_elements(By.CSS_SELECTOR, "th button")[1].send_keys(Keys.ENTER)
        before = column()
        self.assertEqual((len(before), before), (30, sorted(before)))
        driver.find_elements(By.CSS_SELECTOR, "#controls input[type=range]")[1].send_keys(Keys.END)
        wait_for(lambda: column()[-1:] != before[-1:], "other numbers")
        after = column()
        self.assertEqual((len(after), after), (30, sorted(after)))

    def test_only_what_changed_is_sent_and_a_page_that_lost_something_gets_all_of_it(self):
        study = CONTROLS + (
            "\n// ## By number\ntable([1, 2, 3, 4, 5].map(|n| #{ n: n, times: n * 7 % 5 * heads, name: \"a_b\" }));\n"
            "table(#{ hose: [hose] });\nchart(table([#{ x: 0, y: 0.ft }, #{ x: 10, y: length }])).x(\"x\").y(\"y\");\n"
        )
        driver = self.open(self.live(study))
        self.connected(driver)
        shown = lambda: driver.execute_script(
            "return [[...document.querySelectorAll('.body td')].map(cell => cell.textContent),"
            " [...document.querySelectorAll('figure img:not(.ghost)')].map(image => image.plain)]"
        )

        def as_a_new_page():
            first, here = driver.current_window_handle, shown()
            driver.switch_to.new_window("tab")
            driver.get(self.url)
            self.connected(driver)
            fresh = shown()
            driver.close()
            driver.switch_to.window(first)
            self.assertEqual(here, fresh)

        def set_to(name, value, until, lost=""):
            driver.execute_script(f"{lost}; ask('{name}', {value}, false)")
            wait_for(lambda: until(shown()), f"{name} to be {value}")

        watch = (
            "window.sizes = []; events.addEventListener('cells', event => window.sizes.push(event.data.length));"
            "window.rows = [...document.querySelectorAll('tbody tr')]; window.figure = document.querySelector('figure')"
        )
        stay = "return window.rows.every(row => row.isConnected) && window.figure.isConnected"
        driver.execute_script(watch)
        set_to("heads", 8, lambda now: now[0][1] == "16")
        sizes = driver.execute_script("return window.sizes")
        whole = driver.execute_script("return document.getElementById('study').innerHTML.length")
        self.assertLess(max(sizes), whole / 4, f"{sizes}, where all of it has {whole}")
        self.assertTrue(driver.execute_script(stay))
        as_a_new_page()
        # Sorted, each text still belongs to its row.
        driver.execute_script(watch)
        driver.find_elements(By.CSS_SELECTOR, "th button")[1].send_keys(Keys.ENTER)
        set_to("heads", 3, lambda now: now[0][1] == "0" and now[0][4] == "3")
        self.assertTrue(driver.execute_script(stay))
        self.assertEqual(shown()[0][0:15:3], ["5", "3", "1", "4", "2"])
        driver.find_elements(By.CSS_SELECTOR, "th button")[0].send_keys(Keys.ENTER)
        # News that were lost, a piece that is gone, a row that is gone: the page asks for all of it.
        for value, lost in (
            (5, "heard = 0"),
            (6, "document.querySelectorAll('.body')[1].lastElementChild.remove()"),
            (7, "document.querySelector('tbody').rows[1].cells[0].remove()"),
        ):
            set_to("heads", value, lambda now: now[0][1] == str(2 * value) and len(now[0]) == 16 and len(now[1]) == 1, lost)
            as_a_new_page()
        set_to("length", 200, lambda now: True)
        wait_for(lambda: driver.execute_script("return document.querySelector('figure').dataset.values.includes('200')"), "the curve")
        as_a_new_page()
        self.is_quiet(driver, self.url)

    def test_while_a_handle_is_held_axes_stay_and_the_former_curve_is_seen(self):
        study = CONTROLS + "\n// ## Curve\nlet t = table([#{ x: 0, y: 0 }, #{ x: 10, y: 10 * heads }]);\nchart(t).x(\"x\").y(\"y\");\n"
        driver = self.open(self.live(study))
        self.connected(driver)
        driver.execute_script("document.querySelector('figure').scrollIntoView({ block: 'center', behavior: 'instant' })")
        ends = lambda: driver.execute_script("const v = JSON.parse(document.querySelector('figure').dataset.values); return [v.y.high, v.series[0][1][1][1]]")
        before = ends()
        handle = driver.find_elements(By.CSS_SELECTOR, "#controls input[type=range]")[1]
        box = handle.rect
        pointer = webdriver.ActionChains(driver)
        pointer.move_to_element(handle).click_and_hold().move_by_offset(round(box["width"] * 0.45), 0).perform()
        wait_for(lambda: ends()[1] != before[1], "the curve to move")
        time.sleep(0.3)
        self.assertEqual(ends()[0], before[0], "the axis stays")
        self.assertEqual(len(driver.find_elements(By.CSS_SELECTOR, "figure img.ghost")), 1)
        picture(driver, "live-held")
        webdriver.ActionChains(driver).release().perform()
        wait_for(lambda: ends()[0] > before[0], "the axis of its own")
        wait_for(lambda: not driver.find_elements(By.CSS_SELECTOR, "figure img.ghost"), "the former curve to go")
        self.is_quiet(driver, self.url)

    def test_what_waits_for_its_run_is_dimmed_and_a_value_ends_the_run(self):
        slow = CONTROLS + "\n// ## Slow\nlet t = 0; if heads == 8 { loop { t += 1; } }\n`slow ${heads}`;\n// ## Apart\n`apart`;\n"
        driver = self.open(self.live(slow))
        self.connected(driver)
        body = lambda cell: driver.find_element(By.CSS_SELECTOR, f"#cell-{cell} .body").text
        handle = driver.find_elements(By.CSS_SELECTOR, "#controls input[type=range]")[1]
        handle.send_keys(Keys.END)
        waits = lambda cell: driver.find_element(By.ID, f"cell-{cell}").get_attribute("data-state") == "waiting"
        wait_for(lambda: waits(2), "the cell that runs")
        self.assertFalse(waits(3))
        wait_for(lambda: "heads 8" in body(1), "the cell that is done")
        self.assertIn("slow 4", body(2), "what it gave before stays")
        self.assertEqual(driver.find_element(By.ID, "cell-2").get_attribute("aria-busy"), "true")
        picture(driver, "live-waiting")
        handle.send_keys(Keys.ARROW_LEFT)
        wait_for(lambda: "slow 7" in body(2), "the run to give way")
        wait_for(lambda: not waits(2), "the end of the run")

    def test_a_part_is_changed_in_the_page_and_written(self):
        driver = self.open(self.live(STUDY))
        self.connected(driver)
        change = lambda cell: driver.find_element(By.CSS_SELECTOR, f"#cell-{cell} .tools button")
        driver.execute_script("arguments[0].scrollIntoView({ block: 'center' })", change(4))
        change(4).send_keys(Keys.ENTER)
        area = driver.switch_to.active_element
        self.assertEqual((area.tag_name, area.get_property("value")), ("textarea", "// ## Apart\nlet apart = 7;\napart * 6;"))
        self.assertEqual(barriers(driver), [])
        picture(driver, "live-editor")
        area.send_keys(Keys.BACKSPACE * 2, "9;")
        acts = lambda: driver.find_elements(By.CSS_SELECTOR, ".editor .acts button")
        acts()[0].send_keys(Keys.ENTER)
        wait_for(lambda: "63" in driver.find_element(By.CSS_SELECTOR, "#cell-4 .body").text, "the new value")
        self.assertEqual(self.file.read_text(), STUDY.replace("apart * 6", "apart * 9"))
        # While somebody writes in the page, the file is saved by another program.
        change(4).send_keys(Keys.ENTER)
        driver.switch_to.active_element.send_keys("\n8;")
        self.file.write_text(STUDY.replace("apart * 6", "apart * 10"))
        wait_for(lambda: "70" in driver.find_element(By.CSS_SELECTOR, "#cell-4 .body").text, "the other program's text")
        acts()[0].send_keys(Keys.ENTER)
        told = lambda: driver.find_element(By.CSS_SELECTOR, ".editor [role=status]").text
        wait_for(lambda: "the file has changed meanwhile" in told(), "the refusal")
        self.assertEqual(self.file.read_text(), STUDY.replace("apart * 6", "apart * 10"))
        self.assertIn("8;", driver.find_element(By.CSS_SELECTOR, ".editor textarea").get_property("value"))
        acts()[1].send_keys(Keys.ENTER)
        self.assertEqual(driver.find_elements(By.CSS_SELECTOR, ".editor"), [])
        # A further part at the end.
        driver.find_element(By.CSS_SELECTOR, ".more button").send_keys(Keys.ENTER)
        driver.switch_to.active_element.send_keys("// ## Added\n6 * 7;")
        acts()[0].send_keys(Keys.ENTER)
        wait_for(lambda: driver.find_elements(By.ID, "cell-5") and "42" in driver.find_element(By.CSS_SELECTOR, "#cell-5 .body").text, "the added part")
        self.assertTrue(self.file.read_text().endswith("\n\n// ## Added\n6 * 7;\n"))

    def test_an_edit_on_the_disk_appears_and_keeps_the_scroll_place(self):
        driver = self.open(self.live(STUDY), height=500)
        self.connected(driver)
        driver.execute_script("scrollTo({ top: 700, behavior: \"instant\" })")
        place = wait_for(lambda: driver.execute_script("return scrollY"), "the scroll place")
        self.file.write_text(STUDY.replace("apart * 6", "apart * 8"))
        wait_for(lambda: "56" in driver.find_element(By.CSS_SELECTOR, "#cell-4 .body").text, "the edit")
        self.assertEqual(driver.find_element(By.ID, "note").text.split(",")[0], "ran 1 of 10 statements")
        time.sleep(0.3)
        self.assertAlmostEqual(driver.execute_script("return scrollY"), place, delta=2)

        self.file.write_text(STUDY.replace("apart * 6", "apart * 6;\n// ## More\napart + 1.ft"))
        wait_for(lambda: driver.find_elements(By.CSS_SELECTOR, "#cell-5 .failure"), "the error")
        self.assertIn("failed", driver.find_element(By.ID, "state").text)
        picture(driver, "live-error")
        self.file.write_text(STUDY)
        wait_for(lambda: not driver.find_elements(By.CSS_SELECTOR, ".failure, #cell-5"), "the error to go")
        self.is_quiet(driver, self.url)

    def test_an_endless_run_gives_way_to_the_next_edit_and_shows_that_it_runs(self):
        driver = self.open(self.live("// # Long\n6 * 7;\n"))
        self.connected(driver)
        self.file.write_text("// # Long\n6 * 7;\nlet n = 0;\nfor i in 0..30 { let t = 0; for j in 0..200000 { t += j; } n += 1; }\nlet m = 1;\nloop { m += 1; }\n")
        time.sleep(1.0)
        self.file.write_text("// # Long\n6 * 9;\n")
        wait_for(lambda: "54" in driver.find_element(By.CSS_SELECTOR, "#cell-1 .body").text, "the next edit")
        self.is_quiet(driver, self.url)

    def test_two_pages_stand_alike_and_a_stopped_server_is_told(self):
        url = self.live(STUDY)
        one, other = self.open(url), self.open(url)
        self.connected(one)
        self.connected(other)
        one.find_element(By.CSS_SELECTOR, "input[type=range]").send_keys(Keys.END)
        words = lambda driver: driver.execute_script("return document.querySelector('output[data-standing]').textContent")
        wait_for(lambda: words(one) == words(other) == "300 ft", "both pages to say 300 ft")
        handle = lambda driver: driver.find_element(By.CSS_SELECTOR, "input[type=range]").get_property("value")
        wait_for(lambda: handle(other) == "300", "the other handle to move")
        self.server.kill()
        self.server.wait()
        wait_for(lambda: "not connected" in one.find_element(By.ID, "state").text, "the page to say so")
        self.assertIn("trouble", one.find_element(By.ID, "status").get_attribute("class"))
        self.assertIn("berry", one.find_element(By.ID, "study").text)

    def test_a_long_run_says_how_far_it_is(self):
        driver = self.open(self.live("// # Long\n6 * 7;\n"))
        self.connected(driver)
        slow = "".join(f"// ## Part {n}\nlet t{n} = 0; for j in 0..400000 {{ t{n} += j; }}\n{n};\n" for n in range(8))
        self.file.write_text("// # Long\n" + slow)
        state = lambda: driver.find_element(By.ID, "state").text
        wait_for(lambda: state().startswith("running"), "the state of the run")
        self.assertTrue(driver.find_element(By.ID, "progress").is_displayed())
        picture(driver, "live-running")
        wait_for(lambda: state() == "up to date", "the end of the run", 60)

    def test_a_cell_appears_as_soon_as_it_is_done(self):
        driver = self.open(self.live("// # Long\n6 * 7;\n"))
        self.connected(driver)
        wait = "let t = 0; for j in 0..400000 { t += j; }\n"
        self.file.write_text("// # Long\n" + wait + "6 * 9;\n// ## Slow\nlet n = 0;\nloop { n += 1; }\n")
        wait_for(lambda: "54" in driver.find_element(By.CSS_SELECTOR, "#cell-1 .body").text, "the first cell")
        wait_for(lambda: driver.find_element(By.ID, "state").text.startswith("running"), "the state of the run")
        self.assertTrue(driver.find_element(By.ID, "progress").is_displayed())
        self.file.write_text("// # Long\n6 * 8;\n")
        wait_for(lambda: "48" in driver.find_element(By.CSS_SELECTOR, "#cell-1 .body").text, "the next edit")

    def test_every_width_and_scheme_of_the_live_page_is_readable(self):
        url = self.live(STUDY)
        for width, dark in [(390, False), (390, True), (1280, False), (1280, True)]:
            driver = self.open(url, width=width, dark=dark)
            self.connected(driver)
            self.assertEqual(stands_out(driver), [])
            self.assertLessEqual(driver.execute_script("return document.documentElement.scrollWidth"), width)
            self.assertEqual(weak_contrasts(driver), [])
            self.assertEqual(barriers(driver), [])
            picture(driver, f"live-{width}-{'dark' if dark else 'light'}")

    def test_another_page_may_not_ask(self):
        self.live(STUDY)
        self.assertEqual(self.status(), 200)
        self.assertEqual(self.status(Host="garden.example"), 403)
        self.assertEqual(self.status(Origin="http://garden.example"), 403)
        self.assertEqual(self.status(Cookie=""), 403)

    def status(self, **headers):
        _, _, host, room, _ = self.url.split("/")
        connection = http.client.HTTPConnection(host, timeout=10)
        connection.request("GET", f"/{room}/", headers={"Cookie": f"hosewright={self.key}", **headers})
        status = connection.getresponse().status
        connection.close()
        return status


if __name__ == "__main__":
    unittest.main(verbosity=2)
