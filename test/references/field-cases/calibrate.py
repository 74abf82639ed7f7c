"""Fits the logistic calibration of lib/field/confidence.ts to verdicts of collect-verdicts.ts and shows how well it holds.

Usage: python3 calibrate.py VERDICTS.jsonl   (odd case seeds fit, even ones test, and the other way round; then all)
"""

import json
import sys

import numpy as np
from scipy.optimize import minimize

rows = [json.loads(line) for line in open(sys.argv[1])]
MOST = 0.99


def logit(p):
    p = np.clip(p, 0.002, 0.998)
    return np.log(p / (1 - p))


def fit(belief, right):
    x = logit(belief)

    def loss(t):
        z = t[0] + t[1] * x
        # a weak pull towards (0, 1) keeps a kind without mistakes finite
        return np.sum(np.log1p(np.exp(-np.where(right, z, -z)))) + 0.5 * (t[0] ** 2 + (t[1] - 1) ** 2)

    return minimize(loss, [0.0, 1.0]).x


def apply(t, belief):
    return np.minimum(MOST, 1 / (1 + np.exp(-(t[0] + t[1] * logit(belief)))))


def table(name, confidence, right):
    for lo, hi in ((0.33, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.0)):
        m = (confidence >= lo) & (confidence < hi)
        if m.sum():
            print(f"  {name} {lo:.2f}-{hi:.2f}: said {confidence[m].mean():.3f} right {right[m].mean():.3f} of {m.sum()}")


for kind in ("spacing", "tilt", "tracking", "corner"):
    part = [r for r in rows if r["kind"] == kind]
    belief = np.array([r["belief"] for r in part])
    right = np.array([r["likeliest"] == r["truth"] for r in part])
    odd = np.array([r["seed"] % 2 == 1 for r in part])
    print(kind, "right in all:", right.mean())
    confidence = np.empty(len(part))
    confidence[odd] = apply(fit(belief[~odd], right[~odd]), belief[odd])
    confidence[~odd] = apply(fit(belief[odd], right[odd]), belief[~odd])
    table("belief", np.minimum(belief, 0.99), right)
    table("crossed", confidence, right)
    print("  offset, slope:", fit(belief, right).round(3))

corner = [r for r in rows if r["kind"] == "corner" and r["size"] > 0.1]
print("corners of ellipticity > 0.1, right:", np.mean([r["likeliest"] == r["truth"] for r in corner]), len(corner),
      "answered:", np.mean([r["said"] != "unknown" for r in corner]),
      "right of answered:", np.mean([r["said"] == r["truth"] for r in corner if r["said"] != "unknown"]))
by = {}
for r in rows:
    by.setdefault((r["seed"], r["stars"]), {})[r["kind"]] = r
for kind in ("tilt", "spacing"):
    pure = [v for v in by.values() if v["tracking"]["truth"] == "present" and v["tilt"]["size"] == 0 and v["spacing"]["size"] < 0.4]
    wrong = [v[kind] for v in pure if v[kind]["said"] not in ("none", "good", "unknown")]
    print("pure tracking called", kind, len(wrong), "of", len(pure), [(w["seed"], w["stars"], w["confidence"]) for w in wrong])
pure = [v for v in by.values() if v["tilt"]["size"] > 1 and v["spacing"]["size"] < 0.4 and v["tracking"]["truth"] == "none"]
wrong = [v["spacing"] for v in pure if v["spacing"]["said"] not in ("good", "unknown")]
print("pure tilt called spacing", len(wrong), "of", len(pure), [(w["seed"], w["stars"], w["confidence"]) for w in wrong])
print("unknown share by kind:", {k: np.mean([r["said"] == "unknown" for r in rows if r["kind"] == k]) for k in ("spacing", "tilt", "tracking", "corner")})
for n in (40, 100, 300, 1000, 5000):
    print(n, {k: round(float(np.mean([r["said"] == "unknown" for r in rows if r["kind"] == k and r["stars"] == n])), 2) for k in ("spacing", "tilt", "tracking", "corner")},
          "corners>0.1 right", round(float(np.mean([r["likeliest"] == r["truth"] for r in corner if r["stars"] == n])), 3))
