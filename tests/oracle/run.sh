#!/bin/sh
# Runs ngspice on every deck and compares it with the solver; fails where there is no ngspice.
# With --record the decks and recorded.csv are written anew first.
set -eu
cd "$(dirname "$0")/../.."
export STUDBAY_NGSPICE=1
if [ "${1:-}" = --record ]; then
    export STUDBAY_ORACLE_RECORD=1
    cargo test --locked --test suite oracle::the_solver_agrees_with_a_live_run -- --nocapture
    unset STUDBAY_ORACLE_RECORD
fi
cargo test --locked --test suite oracle:: -- --nocapture
