package web

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// A code is as likely as any other, and is read back however it is typed.
func TestCodes(t *testing.T) {
	if len(codeLetters) != 32 || strings.ContainsAny(codeLetters, "OILU") {
		t.Errorf("letters: %s", codeLetters)
	}
	seen := map[string]bool{}
	for range 1000 {
		code := newCode(typedCode)
		if seen[code] {
			t.Errorf("%s came twice in 1,000 of 2^40", code)
		}
		seen[code] = true
		if shown := shownCode(code); meantCode(shown) != code || meantCode(strings.ToLower(" "+shown)) != code {
			t.Errorf("%s is shown as %s", code, shown)
		}
	}
	if meantCode("oI1l-0O") != "011100" {
		t.Errorf("look-alikes: %s", meantCode("oI1l-0O"))
	}
	if !same("a", "a") || same("a", "b") || same("a", "aa") || same("", "a") {
		t.Error("secrets are compared wrongly")
	}
}

// NIST SP 800-63B (5.2.2) has no more than 100 failed tries of a secret in a row; what a day of trying leaves of 40 bits is one in 25 million.
func TestTriesAreFew(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		tries, let := newTries(), 0
		for range 24 * 3600 {
			for range 5 {
				if ok, _ := tries.may("192.0.2.1:5"); ok {
					let++
				}
			}
			time.Sleep(time.Second)
		}
		if let < 8000 || let > 8700 {
			t.Errorf("one address may try %d times a day", let)
		}
	})
	synctest.Test(t, func(t *testing.T) {
		tries, let := newTries(), 0
		for s := range 3600 {
			for i := range 10 {
				if ok, after := tries.may(fmt.Sprintf("10.%d.%d.%d:5", s>>8, s&255, i)); ok {
					let++
				} else if after <= 0 {
					t.Fatal("it is not said when to try again")
				}
			}
			time.Sleep(time.Second)
		}
		if let > 1900 || let < 300 || len(tries.each) > maxTriers+1 {
			t.Errorf("all together may try %d times an hour, and %d addresses are known", let, len(tries.each))
		}
	})
}

// Where a page is reached is said in figures, the machine's own if it listens at all of them.
func TestReached(t *testing.T) {
	interfaces := func() ([]net.Addr, error) {
		var out []net.Addr
		for _, text := range []string{"127.0.0.1/8", "::1/128", "192.168.1.7/24", "fe80::1/64", "2001:db8::7/64"} {
			ip, network, err := net.ParseCIDR(text)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, &net.IPNet{IP: ip, Mask: network.Mask})
		}
		return out, nil
	}
	for at, want := range map[string][]string{
		"127.0.0.1:4700": {"http://127.0.0.1:4700/"}, "[::1]:1": {"http://[::1]:1/"}, "0.0.0.0:4700": {"http://192.168.1.7:4700/"}, "[::]:4700": {"http://[2001:db8::7]:4700/"},
	} {
		if got := reached(netip.MustParseAddrPort(at), interfaces); !slices.Equal(got, want) {
			t.Errorf("%s: %v", at, got)
		}
	}
	none := func() ([]net.Addr, error) { return nil, context.Canceled }
	if got := reached(netip.MustParseAddrPort("0.0.0.0:9"), none); !slices.Equal(got, []string{"http://127.0.0.1:9/"}) {
		t.Errorf("without a network: %v", got)
	}
}
