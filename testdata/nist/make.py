#!/usr/bin/env python3
"""Write the compact files of this folder from the .dat files of NIST StRD.

usage: make.py FOLDER-WITH-DAT-FILES     (run in testdata/nist)
"""
import pathlib
import re
import sys

MODEL = {
    "Bennett5": "shifted-power", "BoxBOD": "saturation", "Chwirut1": "decay-over-line", "Chwirut2": "decay-over-line",
    "DanWood": "power", "ENSO": "three-periods", "Eckerle4": "peak", "Gauss1": "decay-two-peaks",
    "Gauss2": "decay-two-peaks", "Gauss3": "decay-two-peaks", "Hahn1": "cubic-over-cubic", "Kirby2": "square-over-square",
    "Lanczos1": "three-decays", "Lanczos2": "three-decays", "Lanczos3": "three-decays", "MGH09": "kowalik",
    "MGH10": "shifted-activation", "MGH17": "two-decays", "Misra1a": "saturation", "Misra1b": "inverse-square",
    "Misra1c": "inverse-root", "Misra1d": "hyperbola", "Nelson": "log-breakdown", "Rat42": "logistic",
    "Rat43": "generalised-logistic", "Roszman1": "line-arctangent", "Thurber": "cubic-over-cubic",
}

for name, model in MODEL.items():
    text = (pathlib.Path(sys.argv[1]) / f"{name}.dat").read_text()
    rows = re.findall(r"^\s*b\d+ =\s+(\S+)\s+(\S+)\s+(\S+)\s+(\S+)\s*$", text, re.M)
    rss = re.search(r"Residual Sum of Squares:\s+(\S+)", text).group(1)
    count = int(re.search(r"Number of Observations:\s+(\d+)", text).group(1))
    lines = text.splitlines()
    head = max(i for i, s in enumerate(lines) if s.startswith("Data:"))
    data = [s.split() for s in lines[head + 1:] if s.strip()]
    assert rows and len(data) == count, name
    number = lambda s: re.sub(r"E\+?0+$", "", s.replace("E0", "") if s.endswith("E0") else s).lower()
    for row in data:
        for s in row:
            assert float(number(s)) == float(s), s
    with open(f"{name}.txt", "w") as out:
        print(f"# {name}, NIST Statistical Reference Datasets, nonlinear regression", file=out)
        print(f"model {model}", file=out)
        print(f"sumsquares {rss}", file=out)
        print("# unknown: start 1, start 2, certified value, certified standard deviation", file=out)
        for row in rows:
            print("unknown", *row, file=out)
        print("# point: y, x" + ("1, x2" if len(data[0]) == 3 else ""), file=out)
        for row in data:
            print("point", *map(number, row), file=out)
