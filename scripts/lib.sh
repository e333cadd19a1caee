# What the scripts share: messages, and packages that are missing.

say() { printf '%s: %s\n' "$(basename "$0")" "$*" >&2; }

has() { command -v "$1" >/dev/null 2>&1; }

# has_library tells whether a program would find a shared library.
has_library() { PATH=$PATH:/sbin:/usr/sbin ldconfig -p 2>/dev/null | grep -q "^\s*$1 "; }

has_package() { dpkg-query -W -f '${Status}' "$1" 2>/dev/null | grep -q ' installed$'; }

need_go() {
	if ! has go && [ -x /usr/local/go/bin/go ]; then
		PATH=$PATH:/usr/local/go/bin
	fi
	if ! has go; then
		say "Go is not installed; get version $(sed -n 's/^go //p' go.mod) or later from https://go.dev/dl"
		exit 1
	fi
}

# install_missing installs packages with apt-get, or says that somebody has to.
install_missing() {
	[ $# -gt 0 ] || return 0
	if ! has apt-get; then
		say "install these first, or what corresponds to them on this system: $*"
		exit 1
	fi
	local sudo=()
	if [ "$(id -u)" -ne 0 ]; then
		if ! has sudo; then
			say "not root, and there is no sudo; as root: apt-get install $*"
			exit 1
		fi
		sudo=(sudo)
	fi
	say "installing $*"
	"${sudo[@]}" apt-get update -qq >&2
	"${sudo[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >&2
}
