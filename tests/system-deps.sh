#!/usr/bin/env bash
# What the tests need beside Python packages: installed where we may, else named loudly. Exits 1 under CI=true if anything is still missing.
set -euo pipefail

missing() {
    command -v chromium >/dev/null || echo chromium
    compgen -G "/usr/lib/*/libatomic.so.1" >/dev/null || echo libatomic1 # Playwright's driver is linked against it
    [ -e /usr/share/fonts/truetype/noto/NotoSans-Regular.ttf ] || echo fonts-noto-core
    command -v zbarimg >/dev/null || echo zbar-tools
    command -v calcurse >/dev/null || echo calcurse
    compgen -G "/usr/lib/postgresql/*/bin/initdb" >/dev/null || echo postgresql
    # 80 MB that only the tests of `-m long` use
    if [[ ${PYTEST_ARGS:-} =~ -m[\ =\'\"]*long ]]; then
        command -v thunderbird >/dev/null || echo thunderbird
        command -v Xvfb >/dev/null || echo xvfb
    fi
}

packages=$(missing)
[ -n "$packages" ] || exit 0

root=none
if [ "$(id -u)" = 0 ]; then root=""; elif sudo -n true 2>/dev/null; then root="sudo -n"; fi
if [ "$root" != none ] && command -v apt-get >/dev/null; then
    # The tests start a database cluster of their own: without this line Debian would create another and start it.
    conf=/etc/postgresql-common/createcluster.conf
    [[ $packages != *postgresql* || -e $conf ]] || { $root mkdir -p "${conf%/*}" && echo "create_main_cluster = false" | $root tee $conf >/dev/null; }
    echo "Installing" $packages "..."
    $root apt-get update -qq || true
    # shellcheck disable=SC2086  # several packages, several words
    $root env DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends $packages >/dev/null || true
    packages=$(missing)
    [ -n "$packages" ] || exit 0
fi

cat >&2 <<END
############################################################################
#  SKIPPED, or bound to fail, for want of system packages:
$(for package in $packages; do
    case $package in
        chromium | libatomic1) echo "#    $package: every test in a browser" ;;
        fonts-noto-core) echo "#    fonts-noto-core: nothing, but screenshots show other letters" ;;
        zbar-tools) echo "#    zbar-tools: every test that reads a QR code back" ;;
        calcurse) echo "#    calcurse: one reader of the corpus of calendars" ;;
        thunderbird | xvfb) echo "#    $package: the calendar program with a window, of the long tests" ;;
        postgresql) echo "#    postgresql: every test of the store on PostgreSQL" ;;
    esac
done)
#  As root on Debian:  apt-get install --no-install-recommends $(echo $packages)
############################################################################
END
[ "${CI:-}" != true ]
