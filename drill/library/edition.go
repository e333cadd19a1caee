package library

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
)

// Edition tells one version of some documents from another, in eight hexadecimal digits that stand on what is printed of them: those of the
// SHA-256 of what they say, whatever their comments and their lines. Each is a pointer to a profile, a procedure, a scenario or an
// abnormal.
func Edition(documents ...any) string {
	hash := sha256.New()
	for _, d := range documents {
		hash.Write(pack(d))
		hash.Write([]byte{'\n'})
	}
	return strings.ToUpper(hex.EncodeToString(hash.Sum(nil)[:4]))
}
