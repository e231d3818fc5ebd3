#!/usr/bin/env python3
"""Bounds the stack of an image from what its compiler wrote beside each object (-fcallgraph-info=su).

The bound is the deepest chain of calls from the reset handler, then an interrupt on top of it, then
the NMI on top of that. Recursion, a frame of unknown size, a call of something without a size and an
indirect call that indirect_calls.txt does not resolve are errors.
Usage: stack_bound.py FOLDER_OF_OBJECTS RULES LIMIT_BYTES
"""
import pathlib
import re
import sys

NODE = re.compile(r'node: \{ title: "([^"]+)" label: "([^"]*)"')
EDGE = re.compile(r'edge: \{ sourcename: "([^"]+)" targetname: "([^"]+)"')
SIZE = re.compile(r'\\n(\d+) bytes \((\w[\w,]*)\)')
INDIRECT = "__indirect_call"
EXCEPTION_FRAME = 36  # eight words and one to align (Armv7-M, B1.5.7)


def fail(text):
    sys.exit(f"stack bound: {text}")


def name_of(title):  # a function of one source only is written "path:name"
    return title.split(":")[-1]


def read_graph(folder):
    sizes, calls = {}, {}
    files = sorted(pathlib.Path(folder).glob("*.ci"))
    if not files:
        fail(f"no call graphs in {folder}")
    for file in files:
        text = file.read_text()
        for title, label in NODE.findall(text):
            size = SIZE.search(label)
            if size:
                if size.group(2) not in ("static", "dynamic,bounded"):
                    fail(f"{title} has a frame of unknown size ({size.group(2)})")
                sizes[title] = max(sizes.get(title, 0), int(size.group(1)))
        for source, target in EDGE.findall(text):
            calls.setdefault(source, set()).add(target)
    return sizes, calls


def join_aliases(sizes, calls):
    """A constructor or destructor is called by the name C1 or D1 and defined as C2 or D2."""
    for targets in calls.values():
        for target in list(targets):
            alias = re.sub(r"([CD])1E", r"\g<1>2E", target)
            if target not in sizes and alias in sizes:
                targets.discard(target)
                targets.add(alias)


def read_rules(path):
    rules = {"indirect": [], "interrupt": [], "nmi": [], "external": [], "absent": []}
    for line in pathlib.Path(path).read_text().splitlines():
        words = line.split("#")[0].split()
        if words:
            if words[0] not in rules:
                fail(f"{path}: {words[0]} is none of {', '.join(rules)}")
            rules[words[0]].append(words[1:])
    return rules


def matching(sizes, pattern):
    found = [title for title in sizes if pattern in name_of(title)]
    return found or fail(f"the rules name {pattern}, which no function has in its name")


def resolve(sizes, calls, rules):
    used = set()
    for caller, targets in calls.items():
        if INDIRECT not in targets:
            continue
        fitting = [rule for rule in rules["indirect"] if rule[0] in name_of(caller)]
        if not fitting:
            fail(f"{caller} calls something unknown: add it to the rules")
        targets.discard(INDIRECT)
        for rule in fitting:
            used.add(rule[0])
            for pattern in rule[1:]:
                targets.update(matching(sizes, pattern))
    for rule in rules["indirect"]:
        if rule[0] not in used:
            fail(f"the rules name {rule[0]}, which calls nothing indirectly")


def deepest(root, sizes, calls, path=(), known=None):
    known = {} if known is None else known
    if root in path:
        fail("recursion: " + " -> ".join(path[path.index(root):] + (root,)))
    if root not in known:
        if root not in sizes:
            fail(f"{path[-1] if path else 'the rules'} calls {root}, whose frame is not known")
        below = [deepest(target, sizes, calls, path + (root,), known)
                 for target in sorted(calls.get(root, ()))]
        depth, chain = max(below, default=(0, ()))
        known[root] = (sizes[root] + depth, (root,) + chain)
    return known[root]


def main(folder, rules_path, limit):
    sizes, calls = read_graph(folder)
    rules = read_rules(rules_path)
    for name, size in rules["external"]:
        sizes[name] = int(size)
    join_aliases(sizes, calls)
    for (pattern,) in rules["absent"]:
        for title in sizes:
            if pattern in name_of(title):
                fail(f"{title} is there, against the rules")
    resolve(sizes, calls, rules)
    known = {}
    total, chain = deepest("reset_handler", sizes, calls, known=known)
    print("deepest chain of calls, bytes of each frame:")
    for title in chain:
        print(f"{sizes[title]:6d} {name_of(title)}")
    for kind in ("interrupt", "nmi"):
        roots = [title for (pattern,) in rules[kind] for title in matching(sizes, pattern)]
        depth, chain = max(deepest(root, sizes, calls, known=known) for root in roots)
        print(f"{depth + EXCEPTION_FRAME:6d} {kind}: {name_of(chain[0])}")
        total += depth + EXCEPTION_FRAME
    print(f"stack bound {total} of {limit} bytes")
    if total > int(limit):
        fail("over the reserve of the linker script")


if __name__ == "__main__":
    main(*sys.argv[1:])
