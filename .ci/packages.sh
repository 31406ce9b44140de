# SPDX-License-Identifier: MIT
# Sourced by the scripts: installs what is missing through apt, after saying
# what. Nothing is done where all is there.
#
# need_packages PACKAGE...

need_packages() {
    missing=
    for package in "$@"; do
        dpkg-query -W -f='${Status}' "$package" 2>/dev/null |
            grep -q 'install ok installed' || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    if ! command -v apt-get >/dev/null; then
        echo "please install the equivalents of:$missing" >&2
        exit 1
    fi
    sudo=
    [ "$(id -u)" -eq 0 ] || sudo=sudo
    echo "installing through apt:$missing"
    $sudo env DEBIAN_FRONTEND=noninteractive apt-get update -q
    # shellcheck disable=SC2086
    $sudo env DEBIAN_FRONTEND=noninteractive \
        apt-get install -q -y --no-install-recommends $missing
}

build_packages='gcc libc6-dev make cmake pkg-config libxml2-dev libassimp-dev
    libembree-dev uuid-dev libssl-dev libcairo2-dev libpango1.0-dev
    libqrencode-dev fonts-dejavu-core'
