#!/bin/sh
# Runs every netlist of this directory through the circuit simulator and writes
# NAME.out into the directory given as argument (default: here).
set -eu
here=$(cd "$(dirname "$0")" && pwd)
to=$(cd "${1:-$here}" && pwd)
for netlist in "$here"/*.cir; do
	name=$(basename "$netlist" .cir)
	(cd "$to" && ngspice -b "$netlist" >"$name.log" 2>&1 && test -s "$name.out") || { cat "$to/$name.log"; exit 1; }
	rm "$to/$name.log"
done
