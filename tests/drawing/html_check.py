#!/usr/bin/env python3
"""html_check.py DRAW_SAMPLE_PAGES: the HTML form of the sample certificates is well-formed, fetches
nothing, is marked up for screen readers, and keeps its contrasts in light and dark."""
import html.parser
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

VOID = {"meta", "br", "col", "rect", "circle", "path", "polygon", "polyline"}
FORBIDDEN_ELEMENTS = {"script", "link", "img", "iframe", "object", "embed", "form", "base", "a"}
FORBIDDEN_TEXTS = ("http", "src=", "url(", "@import", "javascript:", "<!--", "<![CDATA[")

faults = []


def expect(held, text):
    if not held:
        faults.append(text)


class Checker(html.parser.HTMLParser):
    def __init__(self, name):
        super().__init__(convert_charrefs=True)
        self.name, self.open, self.ids, self.labels = name, [], [], []
        self.headings, self.tables, self.titles = [], 0, 0

    def say(self, held, text):
        expect(held, f"{self.name}: {text}")

    def handle_starttag(self, tag, attributes):
        values = dict(attributes)
        self.say(tag not in FORBIDDEN_ELEMENTS, f"element <{tag}>")
        for key, value in attributes:
            self.say(not key.startswith("on") and key not in ("src", "href", "xlink:href"),
                     f"attribute {key} of <{tag}>")
            self.say(value is not None, f"attribute {key} of <{tag}> without a value")
        if "id" in values:
            self.ids.append(values["id"])
        if "aria-labelledby" in values:
            self.labels.append(values["aria-labelledby"])
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "table":
            self.tables += 1
            self.say(values.get("role") == "table", "a table without its role")
        if tag == "th":
            self.titles += 1
            self.say(values.get("scope") == "col", "a column title without scope")
        if tag == "svg":
            named = any(a.get("role") == "img" and a.get("aria-label") for _, a in self.open)
            inside = any(name == "svg" for name, _ in self.open)
            self.say(values.get("aria-hidden") == "true" or named or inside,
                     "a picture that is neither named nor hidden")
        if tag == "html":
            self.say(bool(values.get("lang")), "no language")
        if tag not in VOID:
            self.open.append((tag, values))

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        self.say(bool(self.open) and self.open[-1][0] == tag, f"</{tag}> closes nothing")
        if self.open:
            self.open.pop()

    def finish(self):
        self.say(not self.open, f"not closed: {[tag for tag, _ in self.open]}")
        self.say(len(set(self.ids)) == len(self.ids), "an id stands twice")
        self.say(set(self.labels) <= set(self.ids), "a section is named by what is not there")
        self.say(self.headings.count(1) == 1, "not one main heading")
        steps = zip(self.headings, self.headings[1:])
        self.say(all(after <= before + 1 for before, after in steps), "a level of headings is skipped")
        self.say(self.tables >= 3 and self.titles >= 9, "too few tables")


def luminance(colour):
    # Source: W3C Recommendation WCAG 2.1 (2018), definition of relative luminance.
    parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def check_contrasts(name, text):
    palettes = re.findall(r":root\{([^}]*)\}", text)
    expect(len(palettes) == 2, f"{name}: expected a light and a dark palette")
    for scheme, rules in zip(("light", "dark"), palettes):
        colours = dict(re.findall(r"--([a-z]+):(#[0-9a-f]{6})", rules))
        # Text and signs; limits of WCAG 2.1, 1.4.3 and 1.4.11.
        for one, other, least in (("ink", "paper", 4.5), ("quiet", "paper", 4.5),
                                  ("quiet", "wash", 4.5), ("alarm", "paper", 4.5),
                                  ("met", "paper", 4.5), ("curve", "allowed", 3.0),
                                  ("curve", "paper", 3.0), ("ink", "allowed", 4.5)):
            found = contrast(colours[one], colours[other])
            expect(found >= least, f"{name}: {scheme}: {one} on {other} has {found:.2f}, not {least}")


def check(path):
    data = path.read_bytes()
    text = data.decode("utf-8")
    for forbidden in FORBIDDEN_TEXTS:
        expect(forbidden not in text, f"{path.name}: holds {forbidden}")
    checker = Checker(path.name)
    checker.feed(text)
    checker.close()
    checker.finish()
    xml.etree.ElementTree.fromstring(text.split("\n", 1)[1])
    check_contrasts(path.name, text)


with tempfile.TemporaryDirectory() as folder:
    subprocess.run([sys.argv[1], folder], check=True)
    pages = sorted(pathlib.Path(folder).glob("*.html"))
    expect(len(pages) >= 6, f"only {len(pages)} files were drawn")
    for page in pages:
        check(page)
for fault in faults:
    print(fault)
sys.exit(1 if faults else 0)
