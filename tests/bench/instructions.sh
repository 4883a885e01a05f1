#!/usr/bin/env bash
# Instructions of a key press and of an edit in the runs view, with the frame, by callgrind, in houses of 100 and of
# 10,000 fixtures. Takes the measuring program: tests/bench/instructions.sh target/*/release/deps/table-*
set -euo pipefail
program=$1
times=200
out=$(mktemp)
trap 'rm -f "$out"' EXIT

# count SIZE WHAT TIMES: instructions of the whole program.
count() {
    env STUDBAY_SIZE="$1" "STUDBAY_$2=$3" valgrind --tool=callgrind --callgrind-out-file="$out" "$program" 2>&1 |
        sed -n 's/.*Collected : //p'
}

for what in KEYS EDITS; do
    for size in 100 10000; do
        with=$(count "$size" "$what" "$times")
        without=$(count "$size" "$what" 0)
        echo "$size fixtures, ${what,,}: $(((with - without) / times)) instructions for one and its frame"
    done
done
