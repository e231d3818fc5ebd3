# Sourced by logger/demo.sh and tests/run.sh: install what is missing, or say in one line why not.
core_packages="g++ cmake ninja-build pkg-config libboost-dev nlohmann-json3-dev libsqlite3-dev
  libcli11-dev libsodium-dev libcairo2-dev libpango1.0-dev fonts-dejavu-core libqrencode-dev zlib1g-dev"
test_packages="catch2 dpkg-dev man-db libssl-dev libcurl4-openssl-dev libmosquitto-dev socat poppler-utils openssl sqlite3 python3-minimal
  python3-jsonschema clang-format"
# Without them the bare-metal image and the foreign devices are not built, or their tests skipped.
target_packages="gcc-arm-none-eabi libstdc++-arm-none-eabi-dev libnewlib-dev qemu-system-arm mbpoll
  libmodbus-dev"
# Servers that messages go to, and a browser for the page; likewise.
server_packages="mosquitto python3-aiosmtpd"
browser_packages="chromium nodejs npm"
long_packages="clang clang-tidy llvm-14 libclang-rt-14-dev"
# Opens a port where it starts by itself, so only the machines of CI get it; elsewhere its tests are skipped.
ci_packages="openssh-server"

# install_missing PACKAGE...: quiet and free when all are there.
install_missing() {
  missing=""
  for package in "$@"; do
    if ! dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed'; then
      missing="$missing $package"
    fi
  done
  [ -z "$missing" ] && return 0
  if [ "$(id -u)" = 0 ]; then
    as_root=""
  elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
    as_root="sudo"
  else
    echo "dwellog: these packages are missing and there is no root or password-less sudo to install them:$missing" >&2
    exit 4
  fi
  echo "dwellog: installing with apt-get:$missing"
  if ! { $as_root apt-get -qq update &&
         $as_root env DEBIAN_FRONTEND=noninteractive apt-get -qq install -y --no-install-recommends $missing; } \
         >"${TMPDIR:-/tmp}/dwellog-apt.log" 2>&1; then
    echo "dwellog: apt-get could not install$missing: $(tail -n 1 "${TMPDIR:-/tmp}/dwellog-apt.log")" >&2
    exit 4
  fi
}

# configure_and_build FOLDER CMAKE-ARGUMENT...
configure_and_build() {
  build_folder=$1
  shift
  # Joined sources halve the time of a first build; a compiler cache saves it the next time.
  launcher="-DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=36"
  command -v ccache >/dev/null && launcher="$launcher -DCMAKE_CXX_COMPILER_LAUNCHER=ccache"
  if ! cmake -S . -B "$build_folder" -G Ninja $launcher "$@" >"$build_folder.configure.log" 2>&1; then
    grep -m1 -A3 'CMake Error' "$build_folder.configure.log" >&2 || tail -n 5 "$build_folder.configure.log" >&2
    echo "dwellog: cmake could not configure $build_folder" >&2
    exit 4
  fi
  if ! ninja -C "$build_folder"; then
    echo "dwellog: the build in $build_folder failed" >&2
    exit 4
  fi
}
