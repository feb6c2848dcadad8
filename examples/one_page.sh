#!/usr/bin/env bash
# One page by the command line: fit, check, draw again.
# Usage: examples/one_page.sh [OUTPUT-FOLDER]      (FITTER=... names the command if it is not on the path)
set -euo pipefail

fitter=${FITTER:-fitter}
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
out=${1:-one-page}

# Three photos and room for sixty words on a starter template; the best page only.
"$fitter" fit three-across-strip "$here"/photos/{hill-meadow,creek,dandelions}.jpg \
    --words 60 --title "Marrow Lake" --top 1 --out "$out"

# The layout file holds everything: it can be judged and drawn again without the solver.
"$fitter" check "$out/layout-1.json"
"$fitter" proof "$out/layout-1.json" --plain --ppi 100 --out "$out/plain.png"
