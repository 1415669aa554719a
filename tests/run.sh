#!/bin/sh
# The whole test suite. Browser tests need a Chromium: the one on the PATH, or Debian's package where we may
# install it; without one they are left out, and this says so.
set -eu
cd "$(dirname "$0")/.."

find_chromium() {
    for name in chromium chromium-browser google-chrome; do
        command -v "$name" && return 0
    done
    return 1
}

if ! find_chromium >/dev/null && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    echo "No Chromium found: installing Debian's package chromium."
    { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium; } >/dev/null 2>&1 || true
fi
if chromium=$(find_chromium); then
    NAPTUFT_CHROMIUM=$chromium exec .venv/bin/python -m pytest -n auto "$@"
fi
echo "No Chromium found and none could be installed: the tests marked 'browser' (tests/web) are left out."
exec .venv/bin/python -m pytest -n auto -m "not browser" "$@"
