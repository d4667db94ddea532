# Shared by deploy/demo and deploy/test: finds or installs what they need.
# Sourced by bash, with the repository's folder as working directory.

say() { printf '%s\n' "$*" >&2; }

fail() { say "$*"; exit 1; }

# as_root runs a command as root, directly or by sudo.
as_root() {
	if [ "$(id -u)" = 0 ]; then
		"$@"
	elif command -v sudo >/dev/null; then
		sudo "$@"
	else
		fail "This needs root to install packages: $*. Run it as root, or install sudo."
	fi
}

updated=
# packages installs Debian packages, asking for the lists once.
packages() {
	command -v apt-get >/dev/null || fail "Please install by hand: $* (this script knows Debian's apt-get only)."
	if [ -z "$updated" ]; then
		as_root apt-get update -qq || fail "The lists of packages could not be fetched. Is there a connection?"
		updated=yes
	fi
	say "Installing $* ..."
	as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >/dev/null ||
		fail "Could not install $*."
}

# go_runs says whether the go command can build a module of our version: since
# 1.21 it fetches the toolchain that go.mod names by itself.
go_runs() {
	command -v go >/dev/null && case "$(go env GOVERSION 2>/dev/null)" in
	go1.2[1-9]* | go1.[3-9][0-9]*) true ;;
	*) false ;;
	esac
}

# need_go makes sure of a Go that can build this module.
need_go() {
	[ -x /usr/local/go/bin/go ] && PATH=/usr/local/go/bin:$PATH
	for dir in /usr/lib/go-*/bin; do
		go_runs || { [ -x "$dir/go" ] && PATH=$dir:$PATH; }
	done
	export PATH
	go_runs && return
	command -v apt-get >/dev/null || fail "Please install Go 1.21 or later from go.dev."
	. /etc/os-release
	if [ "${VERSION_ID:-}" = 12 ]; then # Debian 12 has Go 1.19; its backports have a later one
		packages ca-certificates
		mirror=$(apt-get indextargets --format '$(SITE)' 'Created-By: Packages' | grep -v security | head -n 1)
		[ -n "$mirror" ] || fail "No Debian mirror is set up for apt-get. Please install Go 1.21 or later from go.dev."
		echo "deb $mirror bookworm-backports main" |
			as_root tee /etc/apt/sources.list.d/drover-backports.list >/dev/null
		as_root apt-get update -qq
		newest=$(apt-cache search --names-only '^golang-1\.[2-9][1-9]-go$' | cut -d' ' -f1 | sort -V | tail -n 1)
		packages "${newest:-golang-go}"
		for dir in /usr/lib/go-*/bin; do PATH=$dir:$PATH; done
		export PATH
	else
		packages ca-certificates golang-go
	fi
	go_runs || fail "The Go that was installed is too old. Please install Go 1.21 or later from go.dev."
}

# need_postgres makes sure of PostgreSQL's server programs, without a server
# of the system's being set up.
need_postgres() {
	for dir in /usr/lib/postgresql/*/bin /usr/pgsql-*/bin; do
		[ -x "$dir/initdb" ] && return
	done
	command -v initdb >/dev/null && return
	if [ ! -e /etc/postgresql-common/createcluster.conf ]; then # else the package would start a server of its own
		as_root mkdir -p /etc/postgresql-common
		echo "create_main_cluster = false" | as_root tee /etc/postgresql-common/createcluster.conf >/dev/null
	fi
	packages postgresql
}

# need_chromium makes sure of the browser that the tests drive.
need_chromium() {
	command -v chromium >/dev/null || packages chromium
}

# need_gcc makes sure of the compiler that the race detector needs.
need_gcc() {
	command -v gcc >/dev/null || packages gcc libc6-dev
}
