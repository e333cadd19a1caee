package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	lib "modernc.org/sqlite/lib"
)

// Damage is recognised by its cause: SQLite says that what it reads cannot be. Only then is the whole file checked, which
// takes as long as reading it, and not at every start.

// errDamaged is for a database that SQLite's own check has found to be damaged.
var errDamaged = errors.New("the integrity check")

// errHeld is for a database that cannot be put right because it is open elsewhere.
var errHeld = errors.New("another program has them open: end it, and they are put right the next time that they are opened")

// errOdd is for a row that is none of what the tables hold. It may be the damage, or the program: the check finds out.
var errOdd = errors.New("the records have a row that cannot be")

func damaged(err error) bool {
	c := code(err)
	return c == lib.SQLITE_CORRUPT || c == lib.SQLITE_NOTADB || errors.Is(err, errDamaged) || errors.Is(err, errOdd) || errors.Is(err, errContradicts)
}

// wasDamaged checks a database in which something is not as it was written, and reports whether it was damaged and has been
// put right.
func (s *Store) wasDamaged() bool {
	before := s.opening.Load()
	s.using(integrity)
	return s.opening.Load() != before
}

// integrity is what SQLite's own check says of a database: an error that counts as damaged, or nil.
func integrity(db *sql.DB) error {
	var found string
	err := db.QueryRow("PRAGMA integrity_check(1)").Scan(&found)
	if err == nil && found != "ok" {
		err = fmt.Errorf("%w: %s", errDamaged, strings.Join(strings.Fields(found), " "))
	}
	if err != nil {
		return err
	}
	return plansAreWhole(db)
}

// plansAreWhole holds documents to the hash that they are kept by: SQLite does not notice noise in the middle of a text.
func plansAreWhole(db *sql.DB) error {
	tables, err := gather(db, "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = 'plan'", nil, scanInt)
	if err != nil || tables[0] == 0 {
		return err // of an early version
	}
	_, err = gather(db, "SELECT hash, body FROM plan", nil, func(rows *sql.Rows) (none struct{}, err error) {
		var hash, body string
		if err = rows.Scan(&hash, &body); err == nil && HashOf(json.RawMessage(body)) != hash {
			err = fmt.Errorf("%w: documents are not those that they are kept as", errDamaged)
		}
		return none, err
	})
	return err
}

func scanInt(rows *sql.Rows) (n int, err error) { return n, rows.Scan(&n) }

// share takes the lock that all take who have the records open, and waits so long for whoever has it alone. Without one, where the folder cannot be written, nothing is
// ever put right.
func (s *Store) share(patience time.Duration) error {
	if createPrivate(s.path+".lock") != nil {
		return nil
	}
	lock, err := os.OpenFile(s.path+".lock", os.O_RDWR, 0)
	if err != nil {
		return nil
	}
	for end := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		free, err := lockWithOthers(lock)
		if free {
			break
		}
		if err != nil || time.Now().After(end) {
			lock.Close()
			return errors.Join(errors.New("the records are being put right by another program; wait for it"), err)
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lock = lock
	return nil
}

// A database that could not be put right because it was open elsewhere has a mark beside it.
func (s *Store) mark() { createPrivate(s.path + ".damaged") }

func (s *Store) unmark() { os.Remove(s.path + ".damaged") }

func (s *Store) marked() bool {
	_, err := os.Lstat(s.path + ".damaged")
	return err == nil
}

// examine checks a database that has a mark.
func (s *Store) examine() error {
	s.mu.RLock()
	err := integrity(s.db)
	s.mu.RUnlock()
	if err == nil {
		s.unmark()
	}
	return err
}

// repair moves a damaged database aside and puts a new one into its place, with all that can be read of the old one. cause
// is what showed the damage in the database that was open as number opening; if another goroutine has put it right meanwhile,
// there is nothing to do.
func (s *Store) repair(cause error, opening int64) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.opening.Load() != opening {
		return nil
	}
	if s.db != nil {
		if why := integrity(s.db); !damaged(why) {
			return errors.Join(cause, why) // what came of it was not in the file
		}
	}
	if s.lock == nil {
		return cause
	}
	if free, err := lockAlone(s.lock); err != nil || !free {
		lockWithOthers(s.lock)
		s.mark()
		return fmt.Errorf("%w (%w)", errHeld, cause)
	}
	defer lockWithOthers(s.lock)
	if s.db != nil {
		s.db.Close()
		s.db, s.why = nil, cause
	}
	saved, err := rebuild(s.path)
	if err != nil {
		return fmt.Errorf("the records are damaged, and nothing could be done about it: %w (%w)", plain(err), cause)
	}
	aside, err := moveAside(s.path)
	if err != nil {
		return fmt.Errorf("the records are damaged, and could not be moved aside: %w (%w)", err, cause)
	}
	s.finishRepair()
	s.unmark()
	s.notice("the records in %s were damaged (%v); they have been moved to %s, and new ones begun, %s", s.path, cause, aside, saved)
	return s.open()
}

// The new database is whole before the old one gives way. Whenever the program ends in between, the next start goes on.

func newPath(path string) string { return path + ".new" }

// finishRepair puts the new database into the place of one that has been moved aside.
func (s *Store) finishRepair() {
	if _, err := os.Lstat(s.path); errors.Is(err, fs.ErrNotExist) {
		os.Rename(newPath(s.path), s.path) // there mostly is none
	}
}

// rebuild makes the new database.
func rebuild(path string) (saved, error) {
	part := newPath(path) + ".part"
	for _, name := range []string{newPath(path), part, part + "-wal", part + "-shm"} {
		if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return saved{}, err
		}
	}
	if err := createPrivate(part); err != nil {
		return saved{}, err
	}
	to, err := sql.Open("sqlite", dataSource(part))
	if err != nil {
		return saved{}, err
	}
	to.SetMaxOpenConns(1)
	got, err := salvage(path, to)
	_, checkpoint := to.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	if err = errors.Join(err, checkpoint, to.Close()); err != nil {
		return got, err
	}
	return got, os.Rename(part, newPath(path))
}

// moveAside gives a damaged file, and what belongs to it, a name that nothing has, and returns it.
func moveAside(path string) (string, error) {
	stamp := time.Now().UTC().Format("20060102-150405")
	for n := 1; n < 1000; n++ {
		aside := fmt.Sprintf("%s.damaged-%s-%d", path, stamp, n)
		if _, err := os.Lstat(aside); !errors.Is(err, fs.ErrNotExist) {
			continue
		}
		for _, part := range []string{"-wal", "-shm", ""} { // the database last: as long as it is there it is found again
			if err := os.Rename(path+part, aside+part); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return "", err
			}
		}
		return aside, nil
	}
	return "", fmt.Errorf("too many damaged files beside %s", path)
}

// saved is what could be read of a damaged database.
type saved struct {
	whole, part, nameless int // sittings
	lost                  int // sittings of which something is left, but not what they were of
}

func (s saved) String() string {
	text := fmt.Sprintf("with what could be read: %s whole", count(s.whole))
	if s.part > 0 {
		text += fmt.Sprintf(", %s in part, as if killed where it could not be read further", count(s.part))
	}
	if s.nameless > 0 {
		text += fmt.Sprintf(", %s without the trainee's name", count(s.nameless))
	}
	if s.lost > 0 {
		text += fmt.Sprintf("; of %s there was too little left", count(s.lost))
	}
	if s.whole+s.part == 0 {
		return "without any sitting: nothing could be read"
	}
	return text
}

func count(n int) string {
	if n == 1 {
		return "1 sitting"
	}
	return fmt.Sprintf("%d sittings", n)
}

// salvage copies what can be read of a database, each sitting whole or as far as its log has no gap.
func salvage(path string, to *sql.DB) (saved, error) {
	from, err := sql.Open("sqlite", strings.Replace(dataSource(path), pragmas, "?mode=ro&_pragma=busy_timeout(1000)", 1))
	if err != nil {
		return saved{}, err
	}
	defer from.Close()
	from.SetMaxOpenConns(1)
	var version, application int
	if from.QueryRow("PRAGMA user_version").Scan(&version) != nil || from.QueryRow("PRAGMA application_id").Scan(&application) != nil ||
		application != applicationID || version < 1 {
		return saved{}, migrate(to, -1)
	}
	if err := migrate(to, version); err != nil {
		return saved{}, err
	}
	tx, err := to.BeginTx(context.Background(), nil)
	if err != nil {
		return saved{}, err
	}
	defer tx.Rollback()
	r := rescue{from: from, to: tx, names: map[string][]string{}}
	if err := r.all(); err != nil {
		return saved{}, err
	}
	if err := tx.Commit(); err != nil {
		return saved{}, err
	}
	return r.saved, migrate(to, -1)
}
