package web

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"strings"
)

// codeLetters are what a code is written in: nothing in it is taken for something else, whoever reads it out (O and I, L and U are left out).
const codeLetters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// Lengths of codes, in letters of five bits each.
const (
	typedCode  = 8  // somebody types it: 40 bits, and tries are few (see rates)
	linkedCode = 26 // it is part of an address: 130 bits
)

// newCode draws a code that nobody can know.
func newCode(length int) string {
	raw := make([]byte, length)
	rand.Read(raw)
	for i, b := range raw {
		raw[i] = codeLetters[b%32] // 256 is a multiple of 32: each is as likely
	}
	return string(raw)
}

// shownCode is a code as it is written down: in groups of four.
func shownCode(code string) string {
	var out strings.Builder
	for i := range len(code) {
		if i > 0 && i%4 == 0 {
			out.WriteByte('-')
		}
		out.WriteByte(code[i])
	}
	return out.String()
}

// meantCode is what somebody meant who typed a code: spaces, hyphens and case are nothing, and letters that are not used are what they
// look like.
func meantCode(typed string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ' || r == '-' || r == '\t':
			return -1
		case r >= 'a' && r <= 'z':
			r -= 'a' - 'A'
		}
		switch r {
		case 'O':
			return '0'
		case 'I', 'L':
			return '1'
		}
		return r
	}, typed)
}

// same compares two secrets in a time that tells nothing of either, nor of their lengths.
func same(a, b string) bool {
	x, y := sha256.Sum256([]byte(a)), sha256.Sum256([]byte(b))
	return subtle.ConstantTimeCompare(x[:], y[:]) == 1
}
