#!/usr/bin/env bash
# Fetches what gutta is measured beside: others.sh [FOLDER], else into
# `.cache/others`, where the scripts look for it.
set -eu
here=$(cd "$(dirname -- "$0")" && pwd)
folder=${1:-$here/../../.cache/others}
mkdir -p "$folder"
cd "$folder"
if ! cmp -s "$here/requirements.txt" venv/requirements.txt; then
    rm -rf venv
    python3 -m venv venv
    venv/bin/python -m pip install --quiet --disable-pip-version-check \
        --require-hashes --requirement "$here/requirements.txt"
    cp "$here/requirements.txt" venv/
fi
if ! cmp -s "$here/package-lock.json" package-lock.json.done; then
    cp "$here/package.json" "$here/package-lock.json" .
    npm ci --ignore-scripts --no-audit --no-fund
    cp package-lock.json package-lock.json.done
fi
venv/bin/ruff --version
venv/bin/tombi --version
npm ls --depth=0
