#!/bin/sh
# Time one fit in Conewright, scipy and lmfit, the whole of a fit, on measured sweeps as well, and batches; print the ratios.
# usage: testdata/benchmark/run.sh [TABLES]      (TABLES of the batch, default 10000;
# needs go, and Debian's python3-scipy and python3-lmfit)
set -eu
export PYTHONDONTWRITEBYTECODE=1
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go test -c -o "$work/fit.test" ./ts/internal/estimate
cd ts/internal/estimate
# The smallest time of many short runs is the one least disturbed by other work on the machine; the Python
# script does the same. All go three times, in turn.
for _ in 1 2 3; do
	"$work/fit.test" -test.run '^$' -test.bench '^BenchmarkOneFit$' -test.benchtime 10x -test.count 200 >>"$work/go"
	"$work/fit.test" -test.run '^$' -test.bench '^BenchmarkFit$' -test.benchtime 2x -test.count 200 >>"$work/go"
	"$work/fit.test" -test.run '^$' -test.bench '^BenchmarkLawless$' -test.benchtime 1x -test.count 100 >>"$work/go"
	../../../testdata/benchmark/others.py >>"$work/others"
done
awk '/^Benchmark/ {
	sub(/-[0-9]+$/, "", $1); sub(/^Benchmark/, "", $1)
	if (!($1 in t) || $3 < t[$1]) t[$1] = $3
} END { for (k in t) printf "%s %.6e\n", k, t[k] * 1e-9 }' "$work/go" >"$work/all"
cat "$work/others" >>"$work/all"
awk '
{ if (!($1 in t)) { n++; name[n] = $1 } ; if (!($1 in t) || $2 < t[$1]) t[$1] = $2 }
END {
	printf "%-24s %12s %10s\n", "one fit", "time", "ratio"
	for (i = 1; i <= n; i++) {
		k = name[i]
		if (k == "Fit" || k ~ /^Lawless/) continue
		printf "%-24s %9.1f us %10.1f\n", k == "OneFit" ? "conewright" : k, 1e6 * t[k], t[k] / t["OneFit"]
	}
	printf "\nwhole ladder with average: %.1f us, %.1f times one fit\n", 1e6 * t["Fit"], t["Fit"] / t["OneFit"]
	for (k in t) if (k ~ /^Lawless/) printf "%s: %.1f us, %.1f times one fit\n", k, 1e6 * t[k], t[k] / t["OneFit"]
}' "$work/all"
echo
cd ../../..
go build -o "$work/conewright" ./cmd/conewright
testdata/benchmark/batch.py "$work/conewright" "${1:-10000}"
open=ts/internal/truth/testdata/open
testdata/benchmark/batch.py "$work/conewright" 2000 $open/f144w.csv $open/f144ob.csv
