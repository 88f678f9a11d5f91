#!/usr/bin/env bash
# Fetches general-purpose language servers to measure beside: others.sh FOLDER
set -eu
mkdir -p "$1"
cd "$1"
[ -x venv/bin/ruff ] && [ -x venv/bin/tombi ] || {
    python3 -m venv venv
    venv/bin/pip install --quiet --disable-pip-version-check ruff tombi
}
[ -x node_modules/.bin/vscode-json-languageserver ] || npm install --silent --no-fund --no-audit vscode-json-languageserver
venv/bin/ruff --version
venv/bin/tombi --version
npm ls --depth=0 vscode-json-languageserver | tail -2
