package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/netip"
	"strconv"
	"strings"
	"syscall"
)

// Loopback is the address of a page that only this machine can reach, at a port that is free.
const Loopback = "127.0.0.1:0"

// Insecure is what has to be known before a page is opened to others. It is true of plain HTTP, and of nothing less.
const Insecure = "Plain HTTP: anyone on that network can read what passes, the code included, and with it act in the instructor's place.\n" +
	"Use it on a network that you trust, or leave it on this machine and reach it through a tunnel (ssh -L 4700:127.0.0.1:4700 MACHINE)."

// address is where a page is to be listened for, as somebody wrote it.
type address struct {
	host netip.Addr
	port uint16
}

// CheckAddress says what is wrong with an address as somebody may write it: ":0", ":4700", "127.0.0.1:4700", "0.0.0.0:4700", "[::1]:4700".
func CheckAddress(written string) error {
	_, err := parseAddress(written)
	return err
}

// parseAddress reads an address. One without a host is the loopback's: whoever wants more has to say so.
func parseAddress(written string) (address, error) {
	wrong := func(what string) (address, error) {
		return address{}, fmt.Errorf("%q %s; write :4700, :0 for a port that is free, 127.0.0.1:4700, or 0.0.0.0:4700 for every network of this machine", written, what)
	}
	host, port, err := net.SplitHostPort(written)
	if err != nil {
		if _, numeric := strconv.ParseUint(written, 10, 16); numeric == nil {
			return wrong("has no colon before the port")
		}
		return wrong("is not an address with a port")
	}
	number, err := strconv.ParseUint(port, 10, 16)
	if err != nil {
		return wrong("has no port from 0 to 65535")
	}
	at := netip.AddrFrom4([4]byte{127, 0, 0, 1})
	if host != "" && !strings.EqualFold(host, "localhost") {
		if at, err = netip.ParseAddr(host); err != nil {
			return wrong("names no address of this machine in figures")
		}
	}
	return address{at.Unmap(), uint16(number)}, nil
}

// listen listens there.
func (a address) listen(ctx context.Context) (net.Listener, error) {
	network := "tcp4"
	if a.host.Is6() {
		network = "tcp6"
	}
	l, err := new(net.ListenConfig).Listen(ctx, network, netip.AddrPortFrom(a.host, a.port).String())
	at := netip.AddrPortFrom(a.host, a.port)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("%s is in use by another program, or another sitting: choose another port, or :0 for one that is free", at)
	case errors.Is(err, syscall.EADDRNOTAVAIL):
		return nil, fmt.Errorf("this machine has no address %s; 0.0.0.0:%d is every network of it", a.host, a.port)
	case errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("%s may not be listened at: choose a port from 1024 on", at)
	case err != nil:
		return nil, fmt.Errorf("nothing can listen at %s: %w", at, err)
	}
	return l, nil
}

// reached are the addresses at which what listens there can be reached, in figures.
func reached(listening netip.AddrPort, interfaces func() ([]net.Addr, error)) []string {
	host := listening.Addr().Unmap()
	if !host.IsUnspecified() {
		return []string{"http://" + netip.AddrPortFrom(host, listening.Port()).String() + "/"}
	}
	var out []string
	list, _ := interfaces() // without it there is still the machine itself
	for _, a := range list {
		prefix, err := netip.ParsePrefix(a.String())
		if err != nil {
			continue
		}
		at := prefix.Addr().Unmap()
		if at.IsLoopback() || at.IsLinkLocalUnicast() || at.Is4() != host.Is4() {
			continue
		}
		out = append(out, "http://"+netip.AddrPortFrom(at, listening.Port()).String()+"/")
	}
	if len(out) == 0 {
		out = append(out, "http://"+netip.AddrPortFrom(netip.AddrFrom4([4]byte{127, 0, 0, 1}), listening.Port()).String()+"/")
	}
	return out
}
