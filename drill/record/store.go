package record

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// Pragmas belong to a connection, so they stand in the name of the data source, where every connection gets them.
// Commits come in bundles, a few dozen a second at the most, so that each can afford to wait for the disk: an event is
// there after a power cut, not only after a crash of the program. Writers take their lock at the beginning; one that took
// it half-way could find another in its way, and no waiting would help.
const pragmas = "?_pragma=busy_timeout(1000)&_pragma=journal_mode(WAL)&_pragma=foreign_keys(1)&_pragma=synchronous(FULL)&_txlock=immediate"

// busyWait is for how long another program's turn is waited for, as busy_timeout above.
const busyWait = time.Second

// shareWithin is for how long another program may put the records right before this one gives up.
const shareWithin = 10 * time.Second

// applicationID stands in the file's header and tells it from the databases of other programs.
const applicationID = 0x484c726b

//go:embed migration/*.sql
var migrations embed.FS

// Store is an open file of records. It may be used by several goroutines, and the file by several processes.
type Store struct {
	path    string
	why     error        // why there was no database when it was to be opened
	opening atomic.Int64 // counts the databases that have been open

	mu   sync.RWMutex // held for reading by whoever uses db, for writing by who replaces it
	db   *sql.DB      // nil: there is none
	lock *os.File     // held together with all who have the records open, and alone while they are put right

	telling sync.Mutex
	notices []string
	to      func(string)
}

// Open opens the file of records, and makes it, and its folder, where there is none. A file that is damaged is moved
// aside, never written over, and a new one is begun with what can be read of it. The journals of sittings that were killed or could
// not be stored are taken in.
func Open(path string) (*Store, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, fmt.Errorf("the folder for the records cannot be made: %w; set HORNLARK_DATA to another", err)
	}
	s := &Store{path: path}
	s.keepPrivate()
	if err := s.openAny(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, plain(err))
	}
	s.adopt()
	return s, nil
}

// openAny opens the database, and puts it right before if it is damaged.
func (s *Store) openAny() error {
	if err := s.share(shareWithin); err != nil {
		return err
	}
	s.mu.Lock()
	s.finishRepair()
	err := s.open()
	s.mu.Unlock()
	if err == nil && s.marked() {
		err = s.examine()
	}
	if damaged(err) {
		err = s.repair(err, s.opening.Load())
	}
	if err != nil {
		s.Close()
	}
	return err
}

// WithoutDatabase is a store for when there is none: every sitting is in its journal, and is taken in when the store at path
// can be opened again, which is tried whenever something is to be written. why is the reason, as Open gave it.
func WithoutDatabase(path string, why error) *Store { return &Store{path: path, why: why} }

// Notices is what a user should be told about the records, a line each.
func (s *Store) Notices() []string {
	s.telling.Lock()
	defer s.telling.Unlock()
	return slices.Clone(s.notices)
}

// Tell hands over every notice: those that there are, and from now on each as it comes up.
func (s *Store) Tell(to func(notice string)) {
	s.telling.Lock()
	defer s.telling.Unlock()
	for _, notice := range s.notices {
		to(notice)
	}
	s.to = to
}

func (s *Store) notice(format string, args ...any) {
	s.telling.Lock()
	defer s.telling.Unlock()
	s.notices = append(s.notices, fmt.Sprintf(format, args...))
	if s.to != nil {
		s.to(s.notices[len(s.notices)-1])
	}
}

// Path is where the records are kept.
func (s *Store) Path() string { return s.path }

// Close closes the file. Every sitting has to have ended.
func (s *Store) Close() (err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.db != nil {
		err = s.db.Close()
		s.db = nil
		s.why = errors.New("the records have been closed")
	}
	if s.lock != nil {
		s.lock.Close()
		s.lock = nil
	}
	return err
}

// open opens the database. The lock is held.
func (s *Store) open() error {
	if err := createPrivate(s.path); err != nil {
		return err
	}
	if err := s.openHere(); err != nil {
		s.removeEmpty()
		return err
	}
	return nil
}

// removeEmpty takes away a database that was begun, and in which there is nothing because there is no room, if nobody else has it open.
func (s *Store) removeEmpty() {
	if info, err := os.Lstat(s.path); err != nil || !info.Mode().IsRegular() || info.Size() > 0 || s.lock == nil {
		return
	}
	if _, err := os.Lstat(s.path + "-wal"); !errors.Is(err, fs.ErrNotExist) {
		return
	}
	if free, err := lockAlone(s.lock); err == nil && free {
		os.Remove(s.path)
	}
	lockWithOthers(s.lock)
}

func (s *Store) openHere() error {
	db, err := sql.Open("sqlite", dataSource(s.path))
	if err != nil {
		return err
	}
	db.SetMaxOpenConns(1) // SQLite has one writer at a time, and readers here are rare and short
	// While one program makes the write-ahead log, SQLite refuses others at once, whatever its timeout is.
	for end := time.Now().Add(busyWait); ; time.Sleep(5 * time.Millisecond) {
		if err = migrate(db, -1); code(err) != lib.SQLITE_BUSY || time.Now().After(end) {
			break
		}
	}
	if err != nil {
		db.Close()
		return err
	}
	s.db = db
	s.opening.Add(1)
	return nil
}

// dataSource names the file as a URI, in which no character of a path can be taken for an option.
func dataSource(path string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // a drive letter
	}
	return (&url.URL{Scheme: "file", Path: path}).String() + pragmas
}

// migrate brings the file to the newest version of its tables, a step to a transaction. It always takes the lock of a
// writer, and so finds out whether the file can be written.
// A version below zero stands for the newest.
func migrate(db *sql.DB, version int) error {
	steps, err := fs.Glob(migrations, "migration/*.sql")
	if err != nil {
		return err
	}
	if version >= 0 {
		steps = steps[:min(version, len(steps))]
	}
	for {
		done, err := migrateOne(db, steps)
		if err != nil || done {
			return err
		}
	}
}

func migrateOne(db *sql.DB, steps []string) (done bool, err error) {
	tx, err := db.BeginTx(context.Background(), nil)
	if err != nil {
		return done, err
	}
	defer tx.Rollback()
	var version, application, tables int
	err = errors.Join(
		tx.QueryRow("PRAGMA user_version").Scan(&version),
		tx.QueryRow("PRAGMA application_id").Scan(&application),
		tx.QueryRow("SELECT count(*) FROM sqlite_schema").Scan(&tables),
	)
	switch {
	case err != nil:
		return done, err
	case tables > 0 && application != applicationID:
		return done, errors.New("this is a database of another program; name another place for the records")
	case version > len(steps):
		return done, fmt.Errorf("the records are of version %d, and this program knows %d; use the newer program that wrote them",
			version, len(steps))
	case version == len(steps):
		return true, nil
	}
	script, err := migrations.ReadFile(steps[version])
	if err != nil {
		return done, err
	}
	for _, statement := range []string{
		string(script),
		fmt.Sprintf("PRAGMA application_id = %d", applicationID),
		fmt.Sprintf("PRAGMA user_version = %d", version+1),
	} {
		if _, err := tx.Exec(statement); err != nil {
			return done, fmt.Errorf("%s: %w", steps[version], err)
		}
	}
	return done, tx.Commit()
}

// write does something in a transaction. If the database turns out to be damaged it is put right, and the thing done again.
func (s *Store) write(do func(*sql.Tx) error) error {
	s.reopen()
	return s.using(func(db *sql.DB) error {
		tx, err := db.BeginTx(context.Background(), nil)
		if err != nil {
			return err
		}
		defer tx.Rollback()
		if err := do(tx); err != nil {
			return err
		}
		return tx.Commit()
	})
}

// using does something with the database, and does it again if that was damaged and has been put right.
func (s *Store) using(do func(*sql.DB) error) error {
	opening, err := s.once(do)
	if damaged(err) {
		if err = s.repair(err, opening); err == nil {
			_, err = s.once(do)
		}
	}
	return plain(err)
}

// reopen opens the database of a store that has had none so far. The reason that is told is the first one.
func (s *Store) reopen() {
	if s.opening.Load() == 0 {
		s.openAny()
	}
}

// once also says which of the databases that have been open it used.
func (s *Store) once(do func(*sql.DB) error) (opening int64, err error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.db == nil {
		return s.opening.Load(), s.why
	}
	return s.opening.Load(), do(s.db)
}

// code is SQLite's code for an error, without what extends it, or 0.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

// inWords is what SQLite's codes mean to a user, and what to do.
var inWords = map[int]string{
	lib.SQLITE_FULL:     "the disk is full; make room",
	lib.SQLITE_READONLY: "the records cannot be written; make the file and its folder writable, or set HORNLARK_DATA to another folder",
	lib.SQLITE_CANTOPEN: "the records cannot be opened; make the folder writable, or set HORNLARK_DATA to another folder",
	lib.SQLITE_PERM:     "the records may not be opened; make the file readable and writable, or set HORNLARK_DATA to another folder",
	lib.SQLITE_BUSY:     "another program holds the records; end it",
	lib.SQLITE_LOCKED:   "another program holds the records; end it",
	lib.SQLITE_IOERR:    "the disk reports an error; set HORNLARK_DATA to a folder on another",
	lib.SQLITE_CORRUPT:  "the records are damaged",
	lib.SQLITE_NOTADB:   "the records are damaged",
}

// plain puts an error of SQLite into words.
func plain(err error) error {
	if words, ok := inWords[code(err)]; ok {
		return fmt.Errorf("%s (%w)", words, err)
	}
	return err
}
