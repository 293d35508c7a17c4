#!/bin/sh
# Time one minute of recording, 96 kHz, 24 bit, from file to impedance, in Conewright and in numpy and scipy; print the ratios.
# usage: testdata/benchmark/recording.sh      (needs go, and Debian's python3-scipy)
set -eu
export PYTHONDONTWRITEBYTECODE=1
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go test -c -o "$work/sweeps.test" ./sweeps
cd sweeps
# The smallest time of several runs is the one least disturbed by other work on the machine. Both go in turn.
for kind in sweep pink-noise; do
	KEEP_RECORDING="$work/$kind.wav" "$work/sweeps.test" -test.run '^$' -test.bench "^BenchmarkRecording/$kind\$" -test.benchtime 1x >/dev/null
	for _ in 1 2 3; do
		"$work/sweeps.test" -test.run '^$' -test.bench "^BenchmarkRecording/$kind\$" -test.benchtime 1x -test.count 5 | awk '/^Benchmark/ { print $3 * 1e-9 }' >>"$work/$kind.go"
		../testdata/benchmark/recording.py "$work/$kind.wav" 10 --time 3 2>>"$work/$kind.py" >/dev/null
		../testdata/benchmark/recording.py "$work/$kind.wav" 10 --upfirdn --time 3 2>>"$work/$kind.scipy" >/dev/null
	done
	ours=$(sort -g "$work/$kind.go" | head -1)
	numpy=$(sort -g "$work/$kind.py" | head -1)
	scipy=$(sort -g "$work/$kind.scipy" | head -1)
	echo "$kind $ours $scipy $numpy" | awk '{
		printf "%-12s conewright %.3f s   filters of scipy %.3f s, ratio %.1f   of numpy %.3f s, ratio %.1f\n", $1, $2, $3, $3 / $2, $4, $4 / $2 }'
done
