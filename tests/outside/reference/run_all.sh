#!/bin/sh
# Makes every reference value again: each NAME.R here prints the JSON that is committed as NAME.json beside it.
# Needs R with the packages that the scripts name at their top; a script whose package is missing stops the run.
set -eu
cd "$(dirname "$0")"
for script in *.R; do
    echo "$script" >&2
    Rscript --vanilla "$script" > "${script%.R}.json.new"
    mv "${script%.R}.json.new" "${script%.R}.json"
done
