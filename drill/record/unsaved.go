package record

import (
	"bufio"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// Unsaved is the error for a sitting that could not be stored, or not all of it.
type Unsaved struct {
	Path string // file that the rest is in, a JSON object to a line; empty if that could not be written either
	Err  error  // why
}

// Error says why, and where the sitting is.
func (u *Unsaved) Error() string {
	if u.Path == "" {
		return fmt.Sprintf("the sitting could not be stored: %v", u.Err)
	}
	return fmt.Sprintf("the sitting could not be stored: %v; it is in %s, and is taken in the next time that the records can be opened", u.Err, u.Path)
}

// Unwrap gives the reason.
func (u *Unsaved) Unwrap() error { return u.Err }

// asideFolders are where journals go, the first that can be written: beside the records, or, if that is what is full,
// among the temporary files.
func (s *Store) asideFolders() []string {
	return []string{
		filepath.Join(filepath.Dir(s.path), "unsaved"),
		Fallback(),
	}
}

// Fallback is the folder of sittings that could not be stored beside the records.
func Fallback() string {
	return filepath.Join(os.TempDir(), fmt.Sprintf("hornlark-unsaved-%d", os.Getuid()))
}

// private reports whether a folder is the user's alone. Among the temporary files anybody could have made one of that
// name; but whoever made it so that only he has access would have shut this user out.
func private(folder string) bool {
	info, err := os.Lstat(folder)
	return err == nil && info.IsDir() && (runtime.GOOS == "windows" || info.Mode().Perm()&0o077 == 0)
}

// adopt takes in the journals of sittings that did not come to their end, or could not be stored.
func (s *Store) adopt() {
	for _, folder := range s.asideFolders() {
		s.tidy(folder)
		if !private(folder) {
			continue
		}
		names, _ := filepath.Glob(filepath.Join(folder, "*"+journalSuffix))
		slices.Sort(names)
		for _, name := range names {
			s.adoptOne(name)
		}
	}
}

// tidy makes a folder of this user private that was not. What lies in it could be anybody's, and is not taken in.
func (s *Store) tidy(folder string) {
	info, err := os.Lstat(folder)
	if err != nil || !info.IsDir() || private(folder) || !ours(info) {
		return
	}
	names, _ := filepath.Glob(filepath.Join(folder, "*"+journalSuffix))
	for _, name := range names {
		s.setAside(name, ".untrusted", "others could write to its folder")
	}
	os.Chmod(folder, 0o700) // if it cannot be done, journals go elsewhere
}

// setAside gives a file another name, under which it is not looked at again, and says why.
func (s *Store) setAside(name, suffix, why string) {
	aside := name + suffix
	for n := 2; ; n++ {
		if _, err := os.Lstat(aside); errors.Is(err, fs.ErrNotExist) {
			break
		}
		aside = fmt.Sprintf("%s%s-%d", name, suffix, n)
	}
	if err := os.Rename(name, aside); err != nil {
		s.notice("%s: %s; it could not be set aside: %v", name, why, err)
		return
	}
	s.notice("%s: %s; it has been set aside as %s", name, why, filepath.Base(aside))
}

func (s *Store) adoptOne(name string) {
	file, err := os.Open(name)
	if err != nil {
		s.notice("%s: the sitting in it could not be taken in: %v", name, err)
		return
	}
	defer file.Close()
	if free, err := lockAlone(file); err == nil && !free {
		return // its sitting goes on
	}
	got, err := s.takeIn(name)
	switch {
	case errors.Is(err, errNoSitting):
		s.setAside(name, ".unreadable", err.Error())
	case errors.Is(err, errContradicts):
		s.setAside(name, ".differs", "the sitting in it could not be taken in: "+err.Error())
	case err != nil:
		s.notice("%s: the sitting in it could not be taken in: %v", name, err)
	case got.torn > 0:
		s.setAside(name, ".torn", fmt.Sprintf("%s; %d of its lines could not be read", got.describe(), got.torn))
	default:
		if err := os.Remove(name); err != nil {
			s.notice("%s: %s; it could not be deleted: %v", name, got.describe(), err)
		} else if got.added > 0 {
			s.notice("%s has been taken in from %s", got.describe(), name)
		}
	}
}

// goingOn gives the uids of the sittings that are being kept at this moment, by whatever program.
func (s *Store) goingOn() map[string]bool {
	going := map[string]bool{}
	for _, folder := range s.asideFolders() {
		names, _ := filepath.Glob(filepath.Join(folder, "*"+journalSuffix))
		for _, name := range names {
			base := strings.TrimSuffix(filepath.Base(name), journalSuffix)
			if goesOn(name) {
				going[base[strings.LastIndex(base, "-")+1:]] = true // after the date and the time
			}
		}
	}
	return going
}

// errNoSitting is for a file that says of no sitting.
var errNoSitting = errors.New("it does not begin with a sitting")

// taken is what came of taking in a journal.
type taken struct {
	id    int64
	of    *Sitting
	ended bool
	added int // rows that were not there before
	torn  int // lines that could not be read
}

// describe names the sitting.
func (t *taken) describe() string {
	who := t.of.Trainee
	if who == "" {
		who = "no name"
	}
	how := "sitting"
	if !t.ended {
		how = "unended sitting"
	}
	return fmt.Sprintf("%s %d (%s, %s, %s)", how, t.id, t.of.Scenario, who, t.of.Started.Local().Format("2006-01-02 15:04"))
}

// takeIn stores the sitting of a journal. What of it is there already stays as it is, and has to be the same.
func (s *Store) takeIn(name string) (got *taken, err error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	err = s.write(func(tx *sql.Tx) (err error) {
		if _, err := file.Seek(0, io.SeekStart); err != nil {
			return err
		}
		got, err = takeLines(tx, bufio.NewReader(file))
		return err
	})
	return got, err
}

func takeLines(tx *sql.Tx, in *bufio.Reader) (*taken, error) {
	first, err := readLine(in)
	switch {
	case errors.Is(err, io.EOF):
		return nil, fmt.Errorf("%w: it is empty", errNoSitting)
	case err != nil || first.Sitting == nil || first.UID == "":
		return nil, errNoSitting
	}
	got := &taken{of: first.Sitting.current()}
	if err := got.of.begun(); err != nil {
		return nil, fmt.Errorf("%w: %w", errNoSitting, err)
	}
	before := changes(tx)
	if got.id, err = insertNext(tx, first.UID, got.of); err != nil {
		return nil, err
	}
	var b batch
	var r *result
	for {
		l, err := readLine(in)
		over := errors.Is(err, io.EOF)
		switch {
		case over:
		case errors.Is(err, errTorn):
			got.torn++
		case err != nil:
			return nil, err
		case l.Result != nil:
			r = l.Result
		default:
			b.add(l)
		}
		if !over && b.size() < linesAtOnce {
			continue
		}
		if err := insertEvents(tx, got.id, b.entries); err != nil {
			return nil, err
		}
		if err := insertInputs(tx, got.id, b.inputs); err != nil {
			return nil, err
		}
		b = batch{}
		if over {
			break
		}
	}
	if err := insertResult(tx, got.id, r); err != nil {
		return nil, err
	}
	got.ended, got.added = r != nil, changes(tx)-before
	return got, nil
}

// linesAtOnce is how many lines of a journal are taken in together.
const linesAtOnce = 1000

// add takes a line that has been read.
func (b *batch) add(l line) {
	switch {
	case l.Input != nil:
		b.inputs = append(b.inputs, *l.Input)
	case l.Entry != nil:
		if e, err := eventIn(l.Entry); err == nil { // as it has been found to be
			b.entries = append(b.entries, e)
		}
	}
}

// changes is how many rows the connection has added or changed so far.
func changes(tx *sql.Tx) (n int) {
	tx.QueryRow("SELECT total_changes()").Scan(&n) // of no importance but for what is said
	return n
}

// errTorn is for a line that was not written in full, or has been spoilt since.
var errTorn = errors.New("the line cannot be read")

// readLine reads one line.
func readLine(in *bufio.Reader) (l line, err error) {
	body, err := in.ReadBytes('\n')
	switch {
	case err != nil && len(body) == 0:
		return l, io.EOF
	case err != nil && !errors.Is(err, io.EOF):
		return l, err
	case err != nil: // without an end
		return l, errTorn
	}
	if json.Unmarshal(body, &l) != nil || l.Sitting == nil && l.Entry == nil && l.Input == nil && l.Result == nil {
		return l, errTorn
	}
	if l.Entry != nil {
		if _, err := eventIn(l.Entry); err != nil {
			return l, errTorn
		}
	}
	return l, nil
}
