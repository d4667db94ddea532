# Shared by deploy/demo and deploy/test: finds or installs what they need.
# Sourced by bash, with the repository's folder as working directory.

# go.mod names the Go that builds this module; whatever the environment pins, the
# go command may fetch it.
export GOTOOLCHAIN=auto

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

# need_engines makes sure of the other browsers that a club's devices have: Firefox,
# and WebKit with its driver and a screen that nobody sees.
need_engines() {
	command -v firefox-esr >/dev/null || packages firefox-esr
	command -v WebKitWebDriver >/dev/null || packages webkit2gtk-driver
	command -v Xvfb >/dev/null || packages xvfb
}

# need_fronts makes sure of the https servers for which there are settings.
need_fronts() {
	command -v caddy >/dev/null || packages caddy
	[ -x /usr/sbin/nginx ] || command -v nginx >/dev/null || packages nginx-light
}

# need_gcc makes sure of the compiler that the race detector needs.
need_gcc() {
	command -v gcc >/dev/null || packages gcc libc6-dev
}

# vulndb is the version of the list of known holes, of 5 November 2026.
vulndb=v0.0.0-20261105234957-e22db6528018

# holes looks in a module's folder for known holes that its code can reach.
# Arguments: the folder, and how to run govulncheck.
holes() {
	(cd "$1" && go mod download "golang.org/x/vulndb@$vulndb") ||
		fail "The list of known holes, golang.org/x/vulndb@$vulndb, could not be fetched. Is there a connection?"
	list="file://$(go env GOMODCACHE)/golang.org/x/vulndb@$vulndb/data/osv"
	if found=$(cd "$1" && shift && "$@" -db "$list" ./... 2>&1); then
		return
	fi
	say "$found"
	raise=$(printf '%s\n' "$found" | to_raise)
	[ -n "$raise" ] || fail "The search for known holes did not work; what it said stands above."
	fail "There are known holes in what Drover is built from: $raise. Raise each and run this again."
}

# to_raise reads what govulncheck says and names what has to be raised, and to what.
to_raise() {
	awk '
		/^  Standard library/ { module = "the toolchain in go.mod" }
		/^  Module: / { module = $2 }
		/^    Found in: / { split($3, at, "@"); from = at[2] }
		/^    Fixed in: / {
			split($3, at, "@")
			line = "raise " module " from " from (at[2] == "" ? " (not mended yet: do without it)" : " to " at[2] " or later")
			if (!(line in told)) { told[line] = 1; printf "%s%s", (n++ ? "; " : ""), line }
		}'
}
