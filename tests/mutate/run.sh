#!/bin/bash
# The script for bugs put in on purpose finds those that it should, in two short texts.
# Trying them takes hours and is done by hand: tests/mutate/mutate.py --help.
set -uo pipefail
cd "$(dirname "$0")" || exit 1
./mutate.py --self-test
