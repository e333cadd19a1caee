package record

import (
	"bufio"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
)

// Forgotten is what the forgetting of a trainee came to.
type Forgotten struct {
	Sittings int      // that were deleted, with their inputs, logs and results
	Files    []string // of sittings that could not be stored at first, and were deleted
	Left     []string // damaged files of records, which may still name the trainee
}

// Trainees gives the names of all trainees, in order.
func (s *Store) Trainees() ([]string, error) {
	return collect(s, "SELECT name FROM trainee ORDER BY name", nil, func(rows *sql.Rows) (string, error) {
		var name string
		err := rows.Scan(&name)
		return name, err
	})
}

// Forget deletes everything about a trainee: sittings, inputs, logs, results, and the name. Afterwards none of it is left
// in the files of the store either. It does this too where the trainee is not known any more, so that one that was
// interrupted can be repeated. No sitting of the trainee may be going on.
func (s *Store) Forget(trainee string) (Forgotten, error) {
	var f Forgotten
	if s.db == nil {
		return f, s.why
	}
	if _, err := s.db.Exec("PRAGMA secure_delete = ON"); err != nil {
		return f, plain(err)
	}
	err := s.write(func(tx *sql.Tx) (err error) {
		f.Sittings, err = forget(tx, trainee)
		return err
	})
	if err != nil {
		return f, err
	}
	f.Files, err = s.forgetAside(trainee)
	f.Left, _ = filepath.Glob(s.path + ".damaged-*")
	return f, errors.Join(err, s.scrub())
}

// forget deletes the rows. Documents that nobody's sittings go by any more go too: somebody may have written them for
// this trainee.
func forget(tx *sql.Tx, trainee string) (sittings int, err error) {
	err = tx.QueryRow("SELECT count(*) FROM sitting s JOIN trainee t ON t.id = s.trainee WHERE t.name = ?", trainee).Scan(&sittings)
	for _, step := range []string{
		"INSERT INTO forgotten SELECT s.id FROM sitting s JOIN trainee t ON t.id = s.trainee WHERE t.name = ?1",
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
	if _, err := s.db.Exec("VACUUM"); err != nil {
		return fmt.Errorf("deleted, but traces may be left in %s: %w; do it again", s.path, plain(err))
	}
	var busy, pages, done int
	if err := s.db.QueryRow("PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &pages, &done); err != nil {
		return fmt.Errorf("deleted, but traces may be left in %s-wal: %w; do it again", s.path, plain(err))
	}
	if busy != 0 {
		return fmt.Errorf("deleted, but traces may be left in %s-wal while another program holds the records; end it and do it again", s.path)
	}
	return nil
}

// forgetAside deletes the files of a trainee's sittings that could not be stored at first.
func (s *Store) forgetAside(trainee string) (gone []string, err error) {
	for _, folder := range s.asideFolders() {
		if !private(folder) {
			continue
		}
		waiting, _ := filepath.Glob(filepath.Join(folder, "*.jsonl"))
		stored, _ := filepath.Glob(filepath.Join(folder, "*.jsonl.stored"))
		for _, name := range slices.Concat(waiting, stored) {
			if !isOf(name, trainee) {
				continue
			}
			if e := os.Remove(name); e != nil {
				err = errors.Join(err, e)
				continue
			}
			gone = append(gone, name)
		}
	}
	return gone, err
}

// isOf reports whether a file is of a sitting of the trainee.
func isOf(name, trainee string) bool {
	file, err := os.Open(name)
	if err != nil {
		return false
	}
	defer file.Close()
	first, err := readLine(bufio.NewReader(file))
	return err == nil && first.Sitting != nil && first.Sitting.Trainee == trainee
}
