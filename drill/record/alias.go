package record

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// aliasKey is the file, beside the database, of the key that aliases are made with.
const aliasKey = "alias.key"

// Alias gives a name that stands for a trainee where the trainee is not to be known: the same one each time, and without the key in the
// folder of the records nobody can find whose it is, not even by trying names. Nobody's is nobody's.
func (s *Store) Alias(trainee string) (string, error) {
	if trainee == "" {
		return "", nil
	}
	key, err := s.aliasKey()
	if err != nil {
		return "", fmt.Errorf("there is no key for aliases: %w", err)
	}
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(trainee))
	const length = 16 // characters, of 5 bits each: among a million trainees no two share one
	return "trainee-" + strings.ToLower(base32.StdEncoding.EncodeToString(mac.Sum(nil)))[:length], nil
}

func (s *Store) aliasKey() ([]byte, error) {
	name := filepath.Join(filepath.Dir(s.path), aliasKey)
	fresh := rand.Text() + rand.Text() // 260 bits
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err == nil {
		_, err = file.WriteString(fresh)
		if err = errors.Join(err, file.Sync(), file.Close()); err != nil {
			return nil, errors.Join(err, os.Remove(name))
		}
		return []byte(fresh), nil
	}
	key, err := os.ReadFile(name)
	if err == nil && len(key) < len(fresh) {
		err = fmt.Errorf("%s is not whole; delete it to have new aliases", name)
	}
	return key, err
}
