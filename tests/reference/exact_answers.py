"""Makes, or recomputes, the exact answers that the tests hold the program against.

    python exact_answers.py make                 writes exact_answers.json anew (seeded, so it is the same each time)
    python exact_answers.py recompute [COUNT]    recomputes COUNT of the committed networks, spread over the file

The networks are invented by a seeded generator; the answers are pyAgrum's (versions in requirements.txt).
"""

import json
import math
import pathlib
import random
import sys

from story import answer

FILE = pathlib.Path(__file__).with_name("exact_answers.json")
TOLERANCE = 1e-9
SINGLE, MANY = 150, 70


def chance(rng, low, high):
    return round(math.exp(rng.uniform(math.log(low), math.log(high))), 6)


def chances(rng, outcomes, top):
    share = rng.uniform(0.2, top)
    cuts = [rng.uniform(0.1, 1.0) for _ in range(outcomes - 1)]
    return [round(share * cut / sum(cuts), 6) for cut in cuts]


def invent(rng, causes, conditions, findings, fixes):
    sources = [f"c{c}" for c in range(causes)]
    net = {
        "priors": [chance(rng, 0.005, 0.3) for _ in range(causes)],
        "cause_order": list(range(causes)),
        "conditions": [{"leak": rng.choice([0.0, chance(rng, 0.001, 0.1)])} for _ in range(conditions)],
        "findings": [],
        "shows": [],
        "brings": [],
        "leads": [],
        "fixes": [],
    }
    for led in range(1, causes):
        if rng.random() < 0.25:
            for leader in rng.sample(range(led), min(led, rng.choice([1, 1, 2]))):
                net["leads"].append({"leader": leader, "led": led, "chance": chance(rng, 0.1, 0.9)})
    for k in range(conditions):
        earlier = sources + [f"k{j}" for j in range(k)]
        for source in rng.sample(earlier, min(len(earlier), rng.randint(1, 3))):
            net["brings"].append({"source": source, "condition": k, "chance": rng.choice([1.0, chance(rng, 0.2, 0.99)])})
    everything = sources + [f"k{k}" for k in range(conditions)]
    for f in range(findings):
        outcomes = rng.choice([2, 2, 2, 3, 4])
        leak = [round(x * 0.05, 6) for x in chances(rng, outcomes, 0.9)]
        net["findings"].append({"leak": leak})
        for source in rng.sample(everything, rng.randint(1, min(4, len(everything)))):
            net["shows"].append({"source": source, "finding": f, "chances": chances(rng, outcomes, 0.98)})
    for _ in range(fixes):
        cured = rng.sample(range(causes), rng.randint(1, min(2, causes)))
        net["fixes"].append([[c, rng.choice([1.0, chance(rng, 0.5, 0.99)])] for c in sorted(cured)])
    return net


def outcomes_of(net, f):
    return len(net["findings"][f]["leak"]) + 1


def tell(rng, net, f):
    size = outcomes_of(net, f)
    told = rng.choice([0, 0, 1, size - 1])
    among = [f]
    if rng.random() < 0.12:
        same = [g for g in range(len(net["findings"])) if g != f and outcomes_of(net, g) == size]
        if same:
            among = sorted([f, rng.choice(same)])
    if rng.random() < 0.4:
        trust = rng.choice([0.85, 0.95])
        return {"among": among, "weights": [trust if v == told else round((1 - trust) / (size - 1), 9) for v in range(size)]}
    return {"among": among, "weights": [1.0 if v == told else 0.0 for v in range(size)]}


def invent_evidence(rng, net, per_epoch, fixes):
    evidence = []
    for epoch in range(fixes + 1):
        if epoch:
            evidence.append({"fix": rng.randrange(len(net["fixes"]))})
        free = rng.sample(range(len(net["findings"])), min(per_epoch, len(net["findings"])))
        used = set()
        for f in free:
            entry = tell(rng, net, f)
            if used.isdisjoint(entry["among"]):
                used.update(entry["among"])
                evidence.append(entry)
        if rng.random() < 0.15:
            evidence.append({"cause": rng.randrange(len(net["priors"])), "present": rng.random() < 0.5})
    return evidence


def make():
    rng = random.Random(20261125)
    cases = []
    while len(cases) < SINGLE + MANY:
        many = len(cases) >= SINGLE
        if many:
            net = invent(rng, rng.randint(2, 4), rng.randint(0, 2), rng.randint(2, 4), rng.randint(1, 2))
            evidence = invent_evidence(rng, net, rng.randint(1, 3), rng.randint(1, 3))
        else:
            net = invent(rng, rng.randint(3, 10), rng.randint(0, 4), rng.randint(3, 9), 0)
            evidence = invent_evidence(rng, net, rng.randint(1, 6), 0)
        try:
            exact = answer(net, evidence, "draws" if many else "tables")
        except (gum_error, ValueError):  # evidence of probability zero: another one
            continue
        if not many and len(cases) % 10 == 0:
            compare(exact, answer(net, evidence, "draws"), "two encodings")
        cases.append({"id": f"{'epochs' if many else 'single'}-{len(cases)}", "network": net, "evidence": evidence, "answer": exact})
    FILE.write_text("[\n" + ",\n".join(json.dumps(case, separators=(",", ":")) for case in cases) + "\n]\n")
    print(f"{len(cases)} networks written")


def flat(value):
    if isinstance(value, dict):
        return [x for key in sorted(value) for x in flat(value[key])]
    if isinstance(value, list):
        return [x for item in value for x in flat(item)]
    return [value]


def compare(one, other, label):
    worst = max(abs(a - b) for a, b in zip(flat(one), flat(other), strict=True))
    assert worst < TOLERANCE, (label, worst)


def recompute(count):
    cases = json.loads(FILE.read_text())
    step = max(len(cases) // count, 1)
    passed = failed = 0
    for case in cases[::step][:count]:
        encoding = "draws" if case["id"].startswith("epochs") else "tables"
        try:
            compare(case["answer"], answer(case["network"], case["evidence"], encoding), case["id"])
            passed += 1
        except AssertionError as why:
            failed += 1
            print(f"{case['id']}: {why}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    import pyagrum

    gum_error = pyagrum.GumException
    if sys.argv[1:2] == ["make"]:
        make()
    elif sys.argv[1:2] == ["recompute"]:
        sys.exit(recompute(int(sys.argv[2]) if len(sys.argv) > 2 else 20))
    else:
        sys.exit(__doc__)
