"""Times all posteriors of one query, here and in the reference library, on the same networks in one run.

    cargo bench --bench peers -- /tmp/ours.json && python tests/reference/side_by_side.py /tmp/ours.json

The networks and the evidence are those of `tests/data/networks.json`. The file named is what the bench wrote: one
`{"id": …, "nanoseconds": …, "posterior": {…}}` a case, medians.

Two forms are given to the library: the network as it is, and one made by hand for the query (normal findings absorbed
into the causes, findings without evidence left out, each abnormal finding's links chained). Times exclude building the
network and include the call from Python, which is roughly half of the small ones.
"""

import json
import math
import pathlib
import resource
import statistics
import sys
import time

import pyagrum as gum

from story import _full, _max_of, _node

RUNS = 7
MEMORY = 8 << 30  # bytes: an engine that wants more has failed


def as_it_is(net, evidence):
    bn = gum.BayesNet()
    for c, prior in enumerate(net["priors"]):
        _node(bn, f"c{c}", 2, [], lambda _: [1.0 - prior, prior])
    for f, finding in enumerate(net["findings"]):
        leak = _full(finding["leak"])
        links = finding["links"]

        def shown(values):
            return _max_of([leak] + [_full(l[1:]) for l, v in zip(links, values) if v], finding["levels"])

        _node(bn, f"f{f}", finding["levels"], [f"c{l[0]}" for l in links], shown)
    return bn, {f"f{f}": level for f, level in evidence}


def made_by_hand(net, evidence):
    bn = gum.BayesNet()
    for c, prior in enumerate(net["priors"]):
        _node(bn, f"c{c}", 2, [], lambda _: [1.0 - prior, prior])
    observed = {}
    soft = {}
    for f, level in evidence:
        finding = net["findings"][f]
        if level == 0:
            for link in finding["links"]:
                soft[link[0]] = soft.get(link[0], 1.0) * (1.0 - math.fsum(link[1:]))
            continue
        previous = f"f{f}_leak"
        size = finding["levels"]
        _node(bn, previous, size, [], lambda _: _full(finding["leak"]))
        for at, link in enumerate(finding["links"]):
            name = f"f{f}_{at}"
            drawn = _full(link[1:])

            def chained(values):
                below = [1.0 if v >= values[0] else 0.0 for v in range(size)]
                if values[1]:
                    below = [b * math.fsum(drawn[: v + 1]) for v, b in enumerate(below)]
                return [below[0]] + [max(below[v] - below[v - 1], 0.0) for v in range(1, size)]

            _node(bn, name, size, [previous, f"c{link[0]}"], chained)
            previous = name
        observed[previous] = level
    for c, weight in soft.items():
        observed[f"c{c}"] = [1.0, weight]
    return bn, observed


def clock(bn, observed, causes, engine_kind):
    times = []
    for _ in range(RUNS):
        engine = engine_kind(bn)
        engine.setTargets({f"c{c}" for c in range(causes)})
        start = time.perf_counter()
        engine.setEvidence(observed)
        engine.makeInference()
        posterior = [float(engine.posterior(f"c{c}")[1]) for c in range(causes)]
        times.append(time.perf_counter() - start)
    return statistics.median(times), posterior


def main(ours):
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    data = json.loads((pathlib.Path(__file__).parent.parent / "data" / "networks.json").read_text())
    nets = data["networks"]
    cases = {case["id"]: case for case in data["cases"]}
    print(f"{'case':8} {'ours':>10} {'as it is':>12} {'ratio':>9} {'by hand':>12} {'ratio':>9}")
    for row in json.loads(pathlib.Path(ours).read_text()):
        case = cases.get(row["id"])
        if case is None:
            continue
        net, us = nets[case["network"]], row["nanoseconds"] / 1e9
        cells = []
        for form in (as_it_is, made_by_hand):
            if form is as_it_is and row["id"].startswith(("M-16", "M-24")):
                cells += ["-", "-"]  # out of memory or beyond two minutes there
                continue
            bn, observed = form(net, case["evidence"])
            best = None
            for engine in (gum.LazyPropagation, gum.ShaferShenoyInference, gum.VariableElimination):
                try:
                    took, posterior = clock(bn, observed, len(net["priors"]), engine)
                except Exception:  # std::bad_alloc reaches Python as a plain Exception
                    continue
                worst = max(abs(p - row["posterior"][str(c)]) for c, p in enumerate(posterior))
                assert worst < 1e-9, (row["id"], worst)
                best = took if best is None else min(best, took)
            cells += [f"{best * 1e3:.3f} ms", f"{best / us:,.0f}"] if best else ["failed", "-"]
        print(f"{row['id']:8} {us * 1e6:7.2f} us {cells[0]:>12} {cells[1]:>9} {cells[2]:>12} {cells[3]:>9}")


if __name__ == "__main__":
    main(sys.argv[1]) if len(sys.argv) == 2 else sys.exit(__doc__)
