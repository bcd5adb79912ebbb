"""The story of the network, told as a Bayesian network with full tables, for an independent exact answer.

Nothing here shares code with the program. Two encodings are made:

* `tables`: one epoch. Every cause, condition and finding is one node whose conditional table is filled from the links
  (noisy-OR and noisy-MAX, the leak excluded from the links: Pearl 1988, Diez 1993).
* `draws`: several epochs. Every draw of the story is a node of its own, made once; causes are alive or not in each
  epoch; a finding at an epoch is the maximum of the draws of the sources alive then.

The engine is LazyPropagation of pyAgrum (https://pypi.org/project/pyAgrum/).
"""

import itertools
import math

import numpy as np
import pyagrum as gum


def _node(bn, name, size, parents, fill):
    """Adds a node whose table is `fill(values of the parents) -> distribution`."""
    bn.add(gum.LabelizedVariable(name, name, size))
    for parent in parents:
        bn.addArc(parent, name)
    table = bn.cpt(name)
    sizes = [bn.variable(parent).domainSize() for parent in parents]
    for values in itertools.product(*(range(size_) for size_ in sizes)):
        row = np.asarray(fill(values), dtype=float)
        assert row.shape == (size,) and abs(row.sum() - 1.0) < 1e-12, (name, values, row)
        table[dict(zip(parents, values)) if parents else {}] = row.tolist()


def _full(chances):
    """The distribution of a draw: outcome 0 takes what the others leave."""
    return [1.0 - math.fsum(chances)] + list(chances)


def _below(distribution, outcome):
    return math.fsum(distribution[: outcome + 1])


def _max_of(distributions, size):
    """The distribution of the maximum of independent draws."""
    below = [math.prod(_below(d, v) for d in distributions) for v in range(size)]
    return [below[0]] + [max(below[v] - below[v - 1], 0.0) for v in range(1, size)]


def _source(link):
    return link["source"]


def _levels(net, finding):
    return len(net["findings"][finding]["leak"]) + 1


def _soft(bn, name, target, weights):
    """A child that is 1 with chance weights[v]: evidence on it is soft evidence on `target`."""
    _node(bn, name, 2, [target], lambda v: [1.0 - weights[v[0]], weights[v[0]]])


def _any(bn, name, parents):
    """A node that is 1 when any of the parents is; chained, so that no table grows."""
    previous = None
    for at, parent in enumerate(parents):
        step = name if at == len(parents) - 1 else f"{name}_{at}"
        inputs = [parent] if previous is None else [previous, parent]
        _node(bn, step, 2, inputs, lambda v: [0.0, 1.0] if any(v) else [1.0, 0.0])
        previous = step


def _highest(bn, name, parents, size):
    previous = None
    for at, parent in enumerate(parents):
        step = name if at == len(parents) - 1 else f"{name}_{at}"
        inputs = [parent] if previous is None else [previous, parent]
        _node(bn, step, size, inputs, lambda v: [1.0 if max(v) == k else 0.0 for k in range(size)])
        previous = step


def tables(net):
    """One epoch: (network, name of a cause now, of a condition now, of a finding now, at first)."""
    bn = gum.BayesNet()
    for c in net["cause_order"]:
        leaders = [link for link in net["leads"] if link["led"] == c]
        prior = net["priors"][c]

        def there(values, leaders=leaders, prior=prior):
            absent = (1.0 - prior) * math.prod(1.0 - l["chance"] for l, v in zip(leaders, values) if v)
            return [absent, 1.0 - absent]

        _node(bn, f"c{c}", 2, [f"c{l['leader']}" for l in leaders], there)
    for k, condition in enumerate(net["conditions"]):
        links = [link for link in net["brings"] if link["condition"] == k]

        def holds(values, links=links, condition=condition):
            absent = (1.0 - condition["leak"]) * math.prod(1.0 - l["chance"] for l, v in zip(links, values) if v)
            return [absent, 1.0 - absent]

        _node(bn, f"k{k}", 2, [_source(l) for l in links], holds)
    for f in range(len(net["findings"])):
        links = [link for link in net["shows"] if link["finding"] == f]
        leak = _full(net["findings"][f]["leak"])

        def shown(values, links=links, leak=leak, size=_levels(net, f)):
            return _max_of([leak] + [_full(l["chances"]) for l, v in zip(links, values) if v], size)

        _node(bn, f"f{f}", _levels(net, f), [_source(l) for l in links], shown)
    return bn, lambda s, e: s, lambda f, e: f"f{f}"


def draws(net, evidence):
    """Several epochs, every draw a node: (network, name of a source at an epoch, name of a finding at an epoch)."""
    bn = gum.BayesNet()
    done = [entry["fix"] for entry in evidence if "fix" in entry]
    last = len(done)

    def draw(name, distribution):
        _node(bn, name, len(distribution), [], lambda _: distribution)
        return name

    def both(name, first, second):
        _node(bn, name, 2, [first, second], lambda v: [0.0, 1.0] if all(v) else [1.0, 0.0])
        return name

    led_draw = {
        (l["leader"], l["led"]): draw(f"lead_{l['leader']}_{l['led']}", _full([l["chance"]])) for l in net["leads"]
    }
    success = {}
    for x in sorted(set(done)):
        for cause, chance in net["fixes"][x]:
            success[x, cause] = draw(f"cure_{x}_{cause}", _full([chance]))

    alive = {}
    for c in net["cause_order"]:
        leaders = [l["leader"] for l in net["leads"] if l["led"] == c]
        own = draw(f"own_{c}", _full([net["priors"][c]]))
        standing = {}
        for e in range(last + 1):
            if leaders:
                parts = [both(f"stand_{l}_{c}_{e}", alive[l, e], led_draw[l, c]) for l in leaders]
                _any(bn, f"held_{c}_{e}", parts)
                standing[e] = f"held_{c}_{e}"
        if leaders:
            _any(bn, f"c{c}_0", [own, standing[0]])
        else:
            _any(bn, f"c{c}_0", [own])
        alive[c, 0] = f"c{c}_0"
        for e in range(1, last + 1):
            cure = success.get((done[e - 1], c))
            before = alive[c, e - 1]
            if cure is None:
                alive[c, e] = before
                continue
            inputs = [before, cure] + ([standing[e]] if leaders else [])
            _node(
                bn, f"c{c}_{e}", 2, inputs,
                lambda v: [0.0, 1.0] if v[0] and not (v[1] and not any(v[2:])) else [1.0, 0.0],
            )
            alive[c, e] = f"c{c}_{e}"

    holds = {}

    def at(source, e):
        return alive[int(source[1:]), e] if source[0] == "c" else holds[int(source[1:]), e]

    for k, condition in enumerate(net["conditions"]):
        links = [l for l in net["brings"] if l["condition"] == k]
        leak = draw(f"kleak_{k}", _full([condition["leak"]]))
        own = [draw(f"bring_{l['source']}_{k}", _full([l["chance"]])) for l in links]
        for e in range(last + 1):
            parts = [both(f"bring_{l['source']}_{k}_{e}", at(l["source"], e), d) for l, d in zip(links, own)]
            _any(bn, f"k{k}_{e}", [leak] + parts)
            holds[k, e] = f"k{k}_{e}"

    for f in range(len(net["findings"])):
        size = _levels(net, f)
        links = [l for l in net["shows"] if l["finding"] == f]
        leak = draw(f"fleak_{f}", _full(net["findings"][f]["leak"]))
        own = [draw(f"show_{l['source']}_{f}", _full(l["chances"])) for l in links]
        for e in range(last + 1):
            parts = []
            for l, d in zip(links, own):
                name = f"count_{l['source']}_{f}_{e}"
                _node(
                    bn, name, size, [at(l["source"], e), d],
                    lambda v: [1.0 if (v[1] if v[0] else 0) == x else 0.0 for x in range(size)],
                )
                parts.append(name)
            _highest(bn, f"f{f}_{e}", [leak] + parts, size)
    return bn, lambda s, e: at(s, e), lambda f, e: f"f{f}_{e}"


def answer(net, evidence, encoding):
    """Exact posteriors, predictions and probability of the evidence."""
    last = sum("fix" in entry for entry in evidence)
    bn, source, finding = tables(net) if encoding == "tables" else draws(net, evidence)
    observed = {}
    epoch = 0
    for number, entry in enumerate(evidence):
        if "fix" in entry:
            epoch += 1
        elif "cause" in entry:
            _any(bn, f"seen{number}", [source(f"c{entry['cause']}", epoch)])
            observed[f"seen{number}"] = int(entry["present"])
        else:
            names = [finding(f, epoch) for f in entry["among"]]
            target = names[0]
            if len(names) > 1:
                target = f"among{number}"
                _highest(bn, target, names, _levels(net, entry["among"][0]))
            _soft(bn, f"told{number}", target, entry["weights"])
            observed[f"told{number}"] = 1
    causes = range(len(net["priors"]))
    _any(bn, "some", [source(f"c{c}", last) for c in causes])
    engine = gum.LazyPropagation(bn)
    engine.setEvidence(observed)
    engine.makeInference()

    def posterior(name):
        return [float(x) for x in engine.posterior(name).toarray()]

    return {
        "ln_evidence": math.log(engine.evidenceProbability()),
        "now": [posterior(source(f"c{c}", last))[1] for c in causes],
        "at_first": [posterior(source(f"c{c}", 0))[1] for c in causes],
        "conditions_now": [posterior(source(f"k{k}", last))[1] for k in range(len(net["conditions"]))],
        "none_listed": posterior("some")[0],
        "predictions": [posterior(finding(f, last)) for f in range(len(net["findings"]))],
    }
