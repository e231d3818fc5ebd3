#!/bin/sh
# package_test.sh BUILD-FOLDER: makes the Debian packages twice, the second time of a higher version,
# and installs, upgrades, removes and purges them in a root of their own: what lies in a job folder
# stays. Skipped (77) where the tools are missing; the installing needs root.
set -eu
build=$1
for tool in cpack dpkg dpkg-deb dpkg-shlibdeps; do
  command -v $tool >/dev/null || exit 77
done
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
failed=0
fail() { echo "$1"; failed=1; }

make_packages() { # VERSION
  (cd "$folder" && cpack -G DEB --config "$build/CPackConfig.cmake" -B "$folder/$1" \
    -D CPACK_PACKAGE_VERSION="$1" >"$folder/cpack.log" 2>&1) ||
    { cat "$folder/cpack.log"; exit 1; }
}
package() { ls "$folder/$1/$2"_*.deb; } # VERSION NAME
make_packages 9.1.0
make_packages 9.2.0

# What is in them.
contents=$(dpkg-deb --contents "$(package 9.1.0 dwellog)" | awk '{ print $1, $2, $6 }')
expect() { echo "$contents" | grep -qxF -e "$1" || fail "not in the package: $1"; }
expect "-rwxr-xr-x root/root ./usr/bin/dwellog"
expect "-rw-r--r-- root/root ./usr/lib/systemd/system/dwellog@.service"
expect "-rw-r--r-- root/root ./usr/lib/udev/rules.d/60-dwellog.rules"
expect "-rw-r--r-- root/root ./usr/share/man/man1/dwellog.1.gz"
expect "-rw-r--r-- root/root ./usr/share/man/man5/dwellog-job.json.5.gz"
expect "-rw-r--r-- root/root ./usr/share/bash-completion/completions/dwellog"
expect "-rw-r--r-- root/root ./usr/share/doc/dwellog/copyright"
expect "-rw-r--r-- root/root ./usr/share/doc/dwellog/install.md"
echo "$contents" | grep -q dwellog-verify && fail "the verifier is in the logger's package too"
echo "$contents" | grep -q /var && fail "the package owns something under /var"
contents=$(dpkg-deb --contents "$(package 9.1.0 dwellog-verify)" | awk '{ print $1, $2, $6 }')
expect "-rwxr-xr-x root/root ./usr/bin/dwellog-verify"
expect "-rw-r--r-- root/root ./usr/share/man/man1/dwellog-verify.1.gz"
depends=$(dpkg-deb --field "$(package 9.1.0 dwellog)" Depends)
for needed in libsqlite3-0 libsodium23 libc6 libpango fonts-dejavu-core adduser; do
  case $depends in *"$needed"*) ;; *) fail "Depends lacks $needed: $depends" ;; esac
done
depends=$(dpkg-deb --field "$(package 9.1.0 dwellog-verify)" Depends)
for unwanted in sqlite pango cairo curl adduser; do
  case $depends in *"$unwanted"*) fail "the verifier depends on $unwanted: $depends" ;; esac
done

# Life of a job under them.
if [ "$(id -u)" != 0 ]; then
  echo "not root: installing, upgrading and purging were not tried"
  [ "$failed" = 0 ] && exit 77
  exit 1
fi
root=$folder/root
mkdir -p "$root/var/lib/dpkg/updates" "$root/var/lib/dpkg/info" "$root/var/lib/dpkg/triggers"
: >"$root/var/lib/dpkg/status"
: >"$root/var/lib/dpkg/available"
into_root() {
  dpkg --root="$root" --log=/dev/null --force-script-chrootless --force-depends "$@" \
    >"$folder/dpkg.log" 2>&1 || { fail "dpkg $*: $(cat "$folder/dpkg.log")"; }
}
job=$root/var/lib/dwellog/house
digest() { (cd "$job" && find . -type f -exec sha256sum {} + | sort); }
into_root --install "$(package 9.1.0 dwellog)"
[ -d "$root/var/lib/dwellog" ] || fail "no folder for jobs after installing"
"$root/usr/bin/dwellog" new "$job" >/dev/null
before=$(digest)
[ "$(echo "$before" | wc -l)" -ge 4 ] || fail "no job was made"
for step in "--install $(package 9.2.0 dwellog)" "--remove dwellog" "--purge dwellog"; do
  # shellcheck disable=SC2086
  into_root $step
  [ "$(digest)" = "$before" ] || fail "the job changed with dpkg $step"
  case $step in
    --install*) [ -x "$root/usr/bin/dwellog" ] || fail "no program after dpkg $step" ;;
    *) [ ! -e "$root/usr/bin/dwellog" ] || fail "the program is there after dpkg $step" ;;
  esac
done
[ "$failed" = 0 ] && echo "packages made; a job outlives upgrade, remove and purge"
exit "$failed"
