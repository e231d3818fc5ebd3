#!/bin/sh
# changelog.sh VERSION: the changelog that Debian expects of a package, with the version alone.
set -eu
cat <<END
dwellog ($1) unstable; urgency=medium

  * Version $1.

 -- dwellog authors <maintainers@dwellog.invalid>  Thu, 01 Jan 2026 00:00:00 +0000
END
