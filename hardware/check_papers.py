#!/usr/bin/env python3
"""Checks the papers of this folder: the sums of power and of data, relative links, and the drawings."""
import pathlib
import re
import sys
import xml.etree.ElementTree as ElementTree

HERE = pathlib.Path(__file__).resolve().parent
SVG = "{http://www.w3.org/2000/svg}"
REGULATOR_SHARE = 0.85
USABLE_SHARE = {"20": 0.80, "5": 0.68}
WITHOUT_SLAB = ("slab probe, idle", "slab probe, answering, on top", "receiver of the slab line")
SMALLEST_TEXT_PX = 11
CHAIN_BYTES = 4000  # of a public server's certificates, beyond those of the measurement
errors = []


def expect(holds, text):
    if not holds:
        errors.append(text)


def near(shown, computed, step):
    """As printed: rounded to `step`."""
    return abs(shown - computed) <= step * 0.51


def rows_of(text, columns):
    for line in text.splitlines():
        cells = [cell.strip().strip("*") for cell in line.strip().strip("|").split("|")]
        if line.startswith("|") and len(cells) == columns:
            yield cells


def check_power():
    text = (HERE / "power-budget.md").read_text()
    total = without_slab = 0.0
    before = ""
    parts = 0
    sums = {}
    for part, volt, milliamp, share, milliwatt in rows_of(text, 5):
        if part.startswith(("sum", "drawn")):
            sums[part.split()[0]] = float(milliwatt)
        elif re.fullmatch(r"[\d.]+", volt):
            parts += 1
            computed = float(volt) * float(milliamp) * float(share) / 100
            expect(near(float(milliwatt), computed, 0.001),
                   f"power-budget.md: {part}: {milliwatt} mW, expected {computed:.3f}")
            total += computed
            of_slab = part in WITHOUT_SLAB or (part.startswith("driver") and before in WITHOUT_SLAB)
            without_slab += 0.0 if of_slab else computed
            before = part
    expect(parts == 13, f"power-budget.md: {parts} rows of power, expected 13")
    expect(near(sums.get("sum", 0), total, 0.002), f"power-budget.md: sum, expected {total:.3f} mW")
    expect(near(sums.get("drawn", 0), total / REGULATOR_SHARE, 0.002),
           f"power-budget.md: drawn, expected {total / REGULATOR_SHARE:.3f} mW")
    expect(f"{without_slab / REGULATOR_SHARE:.3f} mW" in text,
           f"power-budget.md: without slab probe, expected {without_slab / REGULATOR_SHARE:.3f} mW")
    check_batteries(text, total / REGULATOR_SHARE, without_slab / REGULATOR_SHARE)


def check_batteries(text, with_slab_mw, without_slab_mw):
    seen = 0
    for battery, printed, usable_20, hours_20, usable_5, hours_5 in rows_of(text, 6):
        if not re.fullmatch(r"[\d.]+", printed):
            continue
        seen += 1
        amp_hours = float(re.search(r"([\d.]+) Ah", battery).group(1))
        drawn = without_slab_mw if "without slab" in battery else with_slab_mw
        expect(near(float(printed), 3.6 * amp_hours, 0.01), f"power-budget.md: {battery}: Wh printed")
        for celsius, usable, hours in (("20", usable_20, hours_20), ("5", usable_5, hours_5)):
            watt_hours = float(printed) * USABLE_SHARE[celsius]
            expect(near(float(usable), watt_hours, 0.001),
                   f"power-budget.md: {battery}: {usable} Wh at {celsius} °C, expected {watt_hours:.3f}")
            expect(near(float(hours), 1000 * watt_hours / drawn, 1),
                   f"power-budget.md: {battery}: {hours} h at {celsius} °C, expected {1000 * watt_hours / drawn:.0f}")
    expect(seen == 4, f"power-budget.md: {seen} batteries, expected 4")


def check_host():
    text = (HERE / "host-on-site.md").read_text()
    watts = [float(watt) for part, watt in rows_of(text, 2) if re.fullmatch(r"[\d.]+", watt) and part != "sum"]
    total = sum(watts)
    expect(len(watts) == 3, f"host-on-site.md: {len(watts)} rows of power, expected 3")
    expect(f"| **sum** | **{total:.1f}** |" in text, f"host-on-site.md: sum, expected {total:.1f} W")
    seen = 0
    for source, share, drawn, month, watt_hours, usable, hours in rows_of(text, 7):
        if not re.fullmatch(r"[\d.]+", share):
            continue
        seen += 1
        expect(near(float(drawn), total / float(share), 0.01),
               f"host-on-site.md: {source}: {drawn} W, expected {total / float(share):.2f}")
        if month:
            kilowatt_hours = total / float(share) * 0.730
            expect(near(float(month.split()[0]), kilowatt_hours, 0.01),
                   f"host-on-site.md: {source}: {month}, expected {kilowatt_hours:.2f} kWh")
        if hours:
            expected = float(watt_hours) * float(usable) * float(share) / total
            expect(near(float(hours), expected, 0.1), f"host-on-site.md: {source}: {hours} h, expected {expected:.1f}")
    expect(seen == 2, f"host-on-site.md: {seen} supplies, expected 2")
    check_data(text)


def check_data(text):
    total = 0.0
    seen = 0
    for what, measured, times, megabytes in rows_of(text, 4):
        if what == "sum":
            expect(near(float(megabytes), total, 0.01), f"host-on-site.md: sum of data, expected {total:.2f} MB")
        elif re.fullmatch(r"[\d,]+", measured):
            seen += 1
            chain = 0 if "open line" in what else CHAIN_BYTES
            computed = (int(measured.replace(",", "")) + chain) * int(times.replace(",", "")) / 1e6
            expect(near(float(megabytes), computed, 0.01),
                   f"host-on-site.md: {what}: {megabytes} MB, expected {computed:.2f}")
            total += computed
    expect(seen >= 5, f"host-on-site.md: {seen} rows of data, expected 5 or more")


def anchors_of(path):
    for heading in re.findall(r"^#+ (.*)$", path.read_text(), re.M):
        yield re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")


def check_links():
    links = 0
    for page in sorted(HERE.glob("*.md")):
        for target in re.findall(r"\]\(([^)]+)\)", page.read_text()):
            links += 1
            name, _, anchor = target.partition("#")
            path = (page.parent / name).resolve() if name else page
            expect(not re.match(r"\w+:|/", target), f"{page.name}: {target}: expected a relative link")
            expect(path.exists(), f"{page.name}: {target}: not there")
            if anchor and path.exists():
                expect(anchor in anchors_of(path), f"{page.name}: {target}: no such heading")
    expect(links > 0, "no link found")
    return links


def check_drawings():
    drawings = sorted(HERE.glob("*.svg"))
    for path in drawings:
        root = ElementTree.parse(path).getroot()
        expect(root.find(SVG + "title") is not None and root.find(SVG + "desc") is not None,
               f"{path.name}: expected title and desc")
        for text in root.iter(SVG + "text"):
            expect(float(text.get("font-size")) >= SMALLEST_TEXT_PX, f"{path.name}: {text.text}: text below 11 px")
    expect(drawings, "no drawing found")
    return len(drawings)


check_power()
check_host()
found = check_links()
drawn = check_drawings()
for error in errors:
    print(error, file=sys.stderr)
if not errors:
    print(f"power and data add up; {found} links and {drawn} drawings are in order")
sys.exit(1 if errors else 0)
