// Package record keeps sittings: what they were of, their inputs, their logs and their results, in one SQLite file.
//
// Records are only added to. A sitting that was killed has a log and no result. While it goes on each has a journal beside
// the database, so that nothing hangs on the database while that is locked, full or damaged; what it did not get is taken
// in from there the next time that the store is opened. A database that turns out to be damaged is moved aside, with what can
// be read in it taken over into a new one.
package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/adrg/xdg"
)

// Sitting is what is kept about a sitting besides its inputs and its log.
type Sitting struct {
	ID        int64         `json:"-"`       // of the store; set by it
	UID       string        `json:"-"`       // the same in every store that has the sitting; set by the first
	Trainee   string        `json:"trainee"` // empty: nobody gave a name
	Scenario  string        `json:"scenario"`
	Procedure string        `json:"procedure"`
	Profile   string        `json:"profile"`
	Policy    string        `json:"policy"`
	Seed      uint64        `json:"seed"`
	Started   time.Time     `json:"started"`
	Version   string        `json:"version"`         // of the program
	Plan      string        `json:"plan"`            // HashOf the documents
	Layout    string        `json:"layout"`          // of the keyboard
	Lead      time.Duration `json:"lead"`            // how far ahead of time sounds were asked for, ns
	Buffer    time.Duration `json:"buffer"`          // of the sound output, ns
	Latency   time.Duration `json:"latency"`         // of the sound output, ns
	Heard     bool          `json:"heard,omitempty"` // there was a sound device; false of an earlier version's, where it is not known

	// Moved is by how much the clock of the records had been moved when the sitting began: Started is so much later than it was by
	// the clock of the machine. Whoever begins a sitting adds it to Started, which keeps its reading of the clock that nobody sets.
	Moved time.Duration `json:"moved,omitempty"`

	LogVersion int `json:"log_version"` // of the log and the inputs; set by the store, to logbook.Version when they are written here

	Documents json.RawMessage `json:"documents,omitempty"` // that it goes by; only for Begin: Store.Documents has them afterwards

	State  State           `json:"-"` // set by the store
	Ended  time.Time       `json:"-"` // set by the store; zero while it has not
	Result json.RawMessage `json:"-"` // set by the store; nil while it has not ended
}

// begun says what a sitting lacks that every one has from its beginning.
func (s *Sitting) begun() error {
	if s.Scenario == "" || s.Procedure == "" || s.Profile == "" || s.Policy == "" || s.Started.IsZero() {
		return errors.New("a sitting needs a scenario, a procedure, a profile, a policy and a beginning")
	}
	return nil
}

// HashOf tells one version of a sitting's documents from another: the first half of the SHA-256 of their JSON without
// blanks, in hexadecimal.
func HashOf(documents json.RawMessage) string {
	var b bytes.Buffer
	if json.Compact(&b, documents) != nil {
		return ""
	}
	sum := sha256.Sum256(b.Bytes())
	return hex.EncodeToString(sum[:16])
}

// maxName is the longest name of a trainee, in characters.
const maxName = 80

// CheckTrainee says what is wrong with a trainee's name, which may be empty. It is shown on terminals and opened in
// spreadsheets, where a text that begins with a sign can be taken for a formula.
func CheckTrainee(name string) error {
	if name == "" {
		return nil
	}
	first, _ := utf8.DecodeRuneInString(name)
	switch {
	case shown(name) != nil:
		return shown(name)
	case utf8.RuneCountInString(name) > maxName:
		return fmt.Errorf("the trainee's name is longer than %d characters", maxName)
	case !unicode.IsLetter(first) && !unicode.IsDigit(first):
		return fmt.Errorf("the trainee's name %q does not begin with a letter or a digit", name)
	case strings.TrimSpace(name) != name:
		return fmt.Errorf("the trainee's name %q ends in a blank", name)
	}
	return nil
}

// State is how a sitting ended.
type State string

// The states.
const (
	Complete State = "complete" // it came to its end
	Stopped  State = "stopped"  // it was ended before its time
	Unended  State = "unended"  // it was killed, or still goes on
)

// Input is something that happened to a sitting, for a replay.
type Input struct {
	At   time.Duration   `json:"at"` // since the sitting began, ns
	Body json.RawMessage `json:"body"`
}

// line is one line of the journal of a sitting. One field is set.
type line struct {
	UID     string          `json:"uid,omitempty"` // with Sitting
	Sitting *header         `json:"sitting,omitempty"`
	Entry   json.RawMessage `json:"entry,omitempty"` // as the version of the sitting's log has it
	Input   *numbered       `json:"input,omitempty"`
	Result  *result         `json:"result,omitempty"`
}

// header is a sitting as such a file begins with it.
type header struct {
	Sitting
	Mode string `json:"mode,omitempty"` // what the policy was called as long as no version of the log was named
}

// current is the sitting in the words of today.
func (h *header) current() *Sitting {
	if h.LogVersion == 0 {
		h.LogVersion, h.Policy = 1, h.Mode
	}
	return &h.Sitting
}

// numbered is an input and its place among the others, from 1.
type numbered struct {
	Seq int `json:"seq"`
	Input
}

// result is how a sitting ended.
type result struct {
	Ended    time.Time       `json:"ended"`
	Complete bool            `json:"complete"`
	Body     json.RawMessage `json:"body"`
	Digest   *Digest         `json:"digest,omitempty"` // nil in what a program wrote that made none
}

// DefaultPath is where the records are kept: in the folder that HORNLARK_DATA names, or else in the user's folder for
// the data of programs.
func DefaultPath() (string, error) {
	if dir := os.Getenv("HORNLARK_DATA"); dir != "" {
		return filepath.Join(dir, "hornlark.db"), nil
	}
	return xdg.DataFile("hornlark/hornlark.db")
}
