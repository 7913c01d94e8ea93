# Sourced by bin/start and bin/test: finds Python, installs what is missing, makes .venv.
# shellcheck shell=sh

cd "$(dirname "$0")/.." || exit 1
root=$(pwd)
LOCK=requirements.lock

say() { printf '%s\n' "$*" >&2; }

is_new_enough() {
    "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1
}

find_python() {
    for candidate in ${FF_PYTHON:-} python3 python3.14 python3.13 python3.12 python3.11 /usr/bin/python3; do
        if is_new_enough "$candidate"; then
            command -v "$candidate"
            return 0
        fi
    done
    return 1
}

# Everything is asked for by what it is used for, so that other systems' packages count too.
library_there() {
    "$python" -c 'import ctypes, sys; ctypes.CDLL(sys.argv[1])' "$1" >/dev/null 2>&1
}

any_font_there() {
    [ -n "$(find /usr/share/fonts /usr/local/share/fonts "${HOME:-/root}/.fonts" \
        \( -name '*.ttf' -o -name '*.otf' \) 2>/dev/null | head -n 1)" ]
}

missing_packages() {
    "$python" -c 'import ensurepip, venv' >/dev/null 2>&1 || echo python3-venv
    library_there libpango-1.0.so.0 || echo libpango-1.0-0
    library_there libpangoft2-1.0.so.0 || echo libpangoft2-1.0-0
    library_there libharfbuzz-subset.so.0 || echo libharfbuzz-subset0
    any_font_there || echo fonts-dejavu-core
    if [ "$1" = tests ]; then
        [ -x /usr/bin/chromium ] || echo chromium
    fi
}

apt_as_root() {
    if [ "$(id -u)" = 0 ]; then
        DEBIAN_FRONTEND=noninteractive apt-get "$@"
    else
        sudo -n DEBIAN_FRONTEND=noninteractive apt-get "$@"
    fi
}

may_install() {
    command -v apt-get >/dev/null 2>&1 || return 1
    [ "$(id -u)" = 0 ] || sudo -n true >/dev/null 2>&1
}

install_packages() {
    line="apt-get install -y --no-install-recommends $*"
    if ! may_install; then
        say "These packages are missing: $*. Install them with"
        say "    sudo $line"
        say "(on a system without apt-get: what it calls the same things), then try again."
        exit 1
    fi
    say "Installing from Debian: $*"
    log=$(mktemp)
    if ! { apt_as_root update -qq && apt_as_root install -y -qq --no-install-recommends "$@"; } \
        >"$log" 2>&1; then
        tail -n 20 "$log" >&2
        say "That did not work. Type this yourself, then try again:"
        say "    sudo apt-get update && sudo $line"
        exit 1
    fi
    rm -f "$log"
}

is_same_python() {
    [ -x .venv/bin/python ] && [ -x .venv/bin/pip ] &&
        [ "$(.venv/bin/python -c 'import sys; print(sys.version)' 2>/dev/null)" = \
            "$("$python" -c 'import sys; print(sys.version)')" ]
}

make_venv() {
    stamp=$("$python" -c 'import hashlib, sys; print(hashlib.sha256(
        open(sys.argv[1], "rb").read() + sys.version.encode()).hexdigest())' "$LOCK")
    if [ "$(cat .venv/stamp 2>/dev/null)" = "$stamp" ] && [ -x .venv/bin/python ]; then
        return 0
    fi
    say "Installing the locked Python packages"
    # Made anew only for another Python; for new packages it is filled up. The lock is whole:
    # no package may pull in another one.
    if ! { { is_same_python || "$python" -m venv --clear .venv; } &&
        .venv/bin/python -m pip install --disable-pip-version-check --no-input -qq \
            --no-compile --no-deps --require-hashes --only-binary :all: -r "$LOCK"; }; then
        say "The packages in $LOCK could not be installed; the reason stands above."
        exit 1
    fi
    printf '%s' "$stamp" >.venv/stamp
}

# set_up app|tests
set_up() {
    if ! python=$(find_python); then
        say "Python 3.11 or newer is missing. Install it with"
        say "    sudo apt-get install -y --no-install-recommends python3 python3-venv"
        exit 1
    fi
    # Looked for only when the last full look is older than the lock file or the scripts.
    if [ .venv/looked-"$1" -nt "$LOCK" ] && [ .venv/looked-"$1" -nt bin/setup.sh ]; then
        :
    else
        missing=$(missing_packages "$1" | tr '\n' ' ')
        # shellcheck disable=SC2086  # one word for each package
        [ -z "$missing" ] || install_packages $missing
    fi
    make_venv
    touch ".venv/looked-$1"
}
