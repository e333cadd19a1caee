package web

import (
	"bufio"
	"encoding/hex"
	"net/netip"
	"os"
	"slices"
	"strconv"
	"strings"
)

// ownSocket reports whether the socket at one end of a connection is of the user who runs this program; with no other end, whether the one that
// listens there is. The kernel keeps a table of whose each is, which everybody may read.
func ownSocket(at, to netip.AddrPort) bool {
	for _, table := range []string{"/proc/net/tcp", "/proc/net/tcp6"} {
		f, err := os.Open(table)
		if err != nil {
			continue
		}
		defer f.Close()
		for lines := bufio.NewScanner(f); lines.Scan(); {
			fields := strings.Fields(lines.Text()) // number, here, there, state, queues, timer, retransmissions, user, ...
			if len(fields) < 8 || !isAt(fields[1], at) || !isAt(fields[2], to) {
				continue
			}
			return fields[7] == strconv.Itoa(os.Geteuid())
		}
	}
	return false
}

// isAt reports whether an entry of the table is an address: in hexadecimal, each four bytes the other way round, as processors have it that we build for.
func isAt(entry string, at netip.AddrPort) bool {
	host, port, is := strings.Cut(entry, ":")
	raw, err := hex.DecodeString(host)
	if n, e := strconv.ParseUint(port, 16, 16); !is || err != nil || e != nil || uint16(n) != at.Port() {
		return false
	}
	for word := range slices.Chunk(raw, 4) {
		slices.Reverse(word)
	}
	has, ok := netip.AddrFromSlice(raw)
	if !at.IsValid() {
		return ok && has.IsUnspecified()
	}
	return ok && has.Unmap() == at.Addr().Unmap()
}
