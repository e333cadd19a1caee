package record

import (
	"bufio"
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// Forgotten is what the forgetting of a trainee came to.
type Forgotten struct {
	Sittings int      // that were deleted, with their inputs, logs and results
	Files    []string // leftovers that were deleted; see Leftovers
	Left     []string // damaged records that do not have the name where it can be found, and stay
}

// ErrGoingOn is for a trainee who cannot be forgotten while a sitting of theirs goes on.
var ErrGoingOn = errors.New("a sitting of this trainee is going on; end it first")

// Trainees gives the names of all trainees, in order.
func (s *Store) Trainees() ([]string, error) {
	return collect(s, "SELECT name FROM trainee ORDER BY name", nil, func(rows *sql.Rows) (string, error) {
		var name string
		err := rows.Scan(&name)
		return name, err
	})
}

// Leftovers gives the files beside the database that have something about a trainee: journals that were not taken in, or set aside,
// and records that were damaged and moved aside. left are damaged records in which the name is not found. Without a name, it
// gives the journals of sittings without one.
func (s *Store) Leftovers(trainee string) (files, left []string) {
	for _, folder := range s.asideFolders() {
		if !private(folder) {
			continue
		}
		names, _ := filepath.Glob(filepath.Join(folder, "*"+journalSuffix+"*"))
		for _, name := range names {
			if isOf(name, trainee) {
				files = append(files, name)
			}
		}
	}
	names, _ := filepath.Glob(s.path + ".damaged-*")
	for _, name := range names {
		if trainee != "" && mentions(name, trainee) {
			files = append(files, name)
		} else {
			left = append(left, name)
		}
	}
	return files, left
}

// Forget deletes everything about a trainee: sittings, inputs, logs, results, trials, what is known, the name, and leftovers. Without a name it deletes the
// sittings of nobody. Afterwards none of it is left in the files of the store either. It does this too where the trainee is not known any
// more, so that one that was interrupted can be repeated. No sitting of the trainee may be going on.
func (s *Store) Forget(trainee string) (f Forgotten, err error) {
	files, left := s.Leftovers(trainee)
	for _, name := range files {
		if goesOn(name) {
			return f, fmt.Errorf("%w (%s)", ErrGoingOn, name)
		}
	}
	f.Left = left
	err = s.using(func(db *sql.DB) error {
		_, err := db.Exec("PRAGMA secure_delete = ON")
		return err
	})
	if err != nil {
		return f, err
	}
	err = s.write(func(tx *sql.Tx) (err error) {
		f.Sittings, err = forget(tx, trainee)
		return err
	})
	if err != nil {
		return f, err
	}
	unfinished, _ := filepath.Glob(newPath(s.path) + "*") // of putting records right
	for _, name := range slices.Concat(files, unfinished) {
		if e := os.Remove(name); e != nil && !errors.Is(e, fs.ErrNotExist) {
			err = errors.Join(err, e)
			continue
		}
		f.Files = append(f.Files, name)
	}
	return f, errors.Join(err, s.scrub())
}

// forget deletes the rows. Documents that nobody's sittings go by any more go too: somebody may have written them for
// this trainee.
func forget(tx *sql.Tx, trainee string) (sittings int, err error) {
	whose := "trainee = (SELECT id FROM trainee WHERE name = ?1)"
	if trainee == "" {
		whose = "trainee IS NULL AND ?1 = ''"
	}
	err = tx.QueryRow("SELECT count(*) FROM sitting WHERE "+whose, trainee).Scan(&sittings)
	for _, step := range []string{
		"INSERT INTO forgotten SELECT id FROM sitting WHERE " + whose,
		"DELETE FROM known WHERE trainee = (SELECT id FROM trainee WHERE name = ?1)",
		"DELETE FROM trials WHERE sitting IN (SELECT sitting FROM forgotten)",
		"DELETE FROM injection WHERE sitting IN (SELECT sitting FROM forgotten)",
		"DELETE FROM summary WHERE sitting IN (SELECT sitting FROM forgotten)",
		"DELETE FROM result WHERE sitting IN (SELECT sitting FROM forgotten)",
		"DELETE FROM event WHERE sitting IN (SELECT sitting FROM forgotten)",
		"DELETE FROM input WHERE sitting IN (SELECT sitting FROM forgotten)",
		"DELETE FROM sitting WHERE id IN (SELECT sitting FROM forgotten)",
		"DELETE FROM plan WHERE hash NOT IN (SELECT plan FROM sitting)",
		"DELETE FROM forgotten",
		"DELETE FROM trainee WHERE name = ?1",
	} {
		if err == nil {
			_, err = tx.Exec(step, trainee)
		}
	}
	return sittings, err
}

// scrub leaves nothing of deleted rows in the database or its write-ahead log.
func (s *Store) scrub() error {
	again := func(where string, err error) error {
		return fmt.Errorf("deleted, but traces may be left in %s: %w; do it again", where, plain(err))
	}
	return s.using(func(db *sql.DB) error {
		if _, err := db.Exec("VACUUM"); err != nil {
			return again(s.path, err)
		}
		var busy, pages, done int
		if err := db.QueryRow("PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &pages, &done); err != nil {
			return again(s.path+"-wal", err)
		}
		if busy != 0 {
			return fmt.Errorf("deleted, but traces may be left in %s-wal while another program holds the records; end it and do it again", s.path)
		}
		return nil
	})
}

// isOf reports whether a journal is of a sitting of the trainee, or, where it cannot be read, has the name in it.
func isOf(name, trainee string) bool {
	file, err := os.Open(name)
	if err != nil {
		return false
	}
	defer file.Close()
	first, err := readLine(bufio.NewReader(file))
	if err == nil && first.Sitting != nil {
		return first.Sitting.Trainee == trainee
	}
	return trainee != "" && mentions(name, trainee)
}

// mentions reports whether a file has a name in it, as it is or as JSON has it.
func mentions(path, trainee string) bool {
	file, err := os.Open(path)
	if err != nil {
		return false
	}
	defer file.Close()
	escaped, err := json.Marshal(trainee) // as earlier versions wrote journals
	if err != nil {
		panic(err) // a string can always be written
	}
	forms := [][]byte{[]byte(trainee), bytes.Trim(toJSON(trainee), `"`), bytes.Trim(escaped, `"`)}
	const chunk = 1 << 20
	window := make([]byte, 0, 2*chunk)
	for {
		n, err := io.ReadFull(file, window[len(window):len(window)+chunk])
		window = window[:len(window)+n]
		for _, form := range forms {
			if bytes.Contains(window, form) {
				return true
			}
		}
		if err != nil {
			return false
		}
		const keep = 8 * maxName // a name may stand across two chunks
		window = append(window[:0], window[len(window)-keep:]...)
	}
}

// goesOn reports whether a journal is being written.
func goesOn(name string) bool {
	file, err := os.Open(name)
	if err != nil {
		return false
	}
	defer file.Close()
	free, err := lockAlone(file)
	return err == nil && !free
}
