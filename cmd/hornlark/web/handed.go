package web

import (
	"net"
	"net/http"
	"net/netip"
)

// Handed is an address with a code of its own, for handing to a browser where everybody on this machine can read what a program is started with:
// that code lets in nobody but programs of the user who runs this one, which is asked of the system and not of them. It is empty where the
// system does not say whose a connection is, or the door is open to other machines. It is void once anybody has come in.
func (d *Door) Handed() string {
	if !d.at.Addr().IsLoopback() || !ownSocket(d.at, netip.AddrPort{}) {
		return ""
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.handed = newCode(linkedCode)
	return d.Addresses()[0] + "#" + d.handed
}

// lets says why a code does not let in whoever sends it; empty: it does.
func (d *Door) lets(r *http.Request, code string) (why string) {
	switch {
	case d.handed != "" && same(code, d.handed):
		from, err := netip.ParseAddrPort(r.RemoteAddr)
		to, is := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
		if err == nil && is {
			if at, err := netip.ParseAddrPort(to.String()); err == nil && ownSocket(from, at) {
				return ""
			}
		}
		return "that address is for the browser of whoever started this; as it was printed it can be opened by others"
	case d.code == "":
		return "the code has been used, and lets in nobody else; whoever is in can hand over"
	case !same(code, d.code):
		return "that is not the code"
	}
	return ""
}
