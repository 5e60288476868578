# shellcheck shell=bash
# Sourced by scripts/check and scripts/demo. Written for bash 3.2, the one macOS ships.
#
#   prepare_venv SET   SET is "run" (what a user needs) or "dev" (the tools too).
#                      Makes or reuses $venv and installs this checkout in it.
#
# HALFSPLIT_PYTHON  the Python to make the venv with   (default: the first of 3.11 or newer on PATH)
# HALFSPLIT_VENV    where the venv is or shall be      (default: .venv in the checkout)

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
venv=${HALFSPLIT_VENV:-$root/.venv}

fail() {
    printf '%s: %s\n' "$(basename "$0")" "$1" >&2
    exit 1
}

prepare_venv() {
    if ! venv_works; then
        make_venv
    fi
    install_set "$1"
}

venv_works() {
    [ -x "$venv/bin/python" ] && is_new_enough "$venv/bin/python" &&
        "$venv/bin/python" -m pip --version >/dev/null 2>&1
}

make_venv() {
    local python
    python=$(find_python) || fail "needs Python 3.11 or newer, found none on PATH.
Install one, or name one: HALFSPLIT_PYTHON=/path/to/python3 $0"
    if ! "$python" -c 'import ensurepip, venv' >/dev/null 2>&1; then
        install_venv_module "$python"
    fi
    echo "Making $venv with $("$python" --version)"
    "$python" -m venv --clear "$venv" || fail "could not make $venv (see above)"
}

find_python() {
    local name
    for name in ${HALFSPLIT_PYTHON:-python3 python3.14 python3.13 python3.12 python3.11 python}; do
        if command -v "$name" >/dev/null 2>&1 && is_new_enough "$name"; then
            command -v "$name"
            return 0
        fi
    done
    return 1
}

is_new_enough() {
    "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1
}

# Debian keeps venv and ensurepip in a package of their own.
install_venv_module() {
    local package
    package=$("$1" -c 'import sys; print("python%d.%d-venv" % sys.version_info[:2])')
    if ! can_apt; then
        fail "$1 has no venv module. On Debian and Ubuntu: sudo apt-get install $package"
    fi
    apt_install "$package"
}

# The stamp says what was installed from which pyproject.toml of which checkout, and which kernel.
install_set() {
    local wanted target
    wanted="$root $(cat "$root"/pyproject.toml "$root"/hatch_build.py \
        "$root"/src/halfsplit/solve/kernel*.[ch] | cksum)"
    if stamped dev "$wanted" || stamped "$1" "$wanted"; then
        return 0
    fi
    if ! has_compiler && can_apt; then
        apt_install gcc libc6-dev
    fi
    target=$root
    if [ "$1" = dev ]; then
        target="${root}[dev]"
    fi
    echo "Installing Halfsplit and what it needs ($1) in $venv"
    "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --no-input \
        --editable "$target" || fail "pip could not install $target (see above)"
    printf '%s\n' "$wanted" >"$venv/halfsplit-$1.stamp"
}

# Without one the solver runs in numpy, right but slow.
has_compiler() {
    command -v cc >/dev/null 2>&1 || command -v gcc >/dev/null 2>&1 ||
        command -v clang >/dev/null 2>&1
}

stamped() {
    [ -f "$venv/halfsplit-$1.stamp" ] && [ "$(cat "$venv/halfsplit-$1.stamp")" = "$2" ]
}

can_apt() {
    command -v apt-get >/dev/null 2>&1 && [ "$(id -u)" = 0 ]
}

apt_install() {
    local log
    log=$(mktemp)
    echo "Installing by apt-get: $*"
    if ! {
        apt-get update --quiet &&
            DEBIAN_FRONTEND=noninteractive apt-get install --yes --quiet \
                --no-install-recommends -o DPkg::Lock::Timeout=120 "$@"
    } >"$log" 2>&1 </dev/null; then
        tail -n 20 "$log" >&2
        fail "apt-get could not install $* (its last lines are above, all of them in $log)"
    fi
    rm -f "$log"
}
