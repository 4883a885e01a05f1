#!/usr/bin/env bash
# Instructions of a key press in the runs view, by callgrind, in houses of 100 and of 10,000 fixtures.
# Takes the measuring program: tests/bench/instructions.sh target/release/deps/table-*
set -euo pipefail
program=$1
keys=200
out=$(mktemp)
trap 'rm -f "$out"' EXIT

# count SIZE KEYS: instructions of the whole program.
count() {
    STUDBAY_SIZE=$1 STUDBAY_KEYS=$2 valgrind --tool=callgrind --callgrind-out-file="$out" "$program" 2>&1 |
        sed -n 's/.*Collected : //p'
}

for size in 100 10000; do
    with=$(count "$size" "$keys")
    without=$(count "$size" 0)
    echo "$size fixtures: $(((with - without) / keys)) instructions for a key and its frame"
done
