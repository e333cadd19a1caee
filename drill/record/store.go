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
	"strings"
	"time"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// Pragmas belong to a connection, so they stand in the name of the data source, where every connection gets them.
// Commits come in bundles, a few dozen a second at the most, so that each can afford to wait for the disk: an event is
// there after a power cut, not only after a crash of the program. Writers take their lock at the beginning; one that took
// it half-way could find another in its way, and no waiting would help.
const pragmas = "?_pragma=busy_timeout(1000)&_pragma=journal_mode(WAL)&_pragma=foreign_keys(1)&_pragma=synchronous(FULL)&_txlock=immediate"

// applicationID stands in the file's header and tells it from the databases of other programs.
const applicationID = 0x484c726b

//go:embed migration/*.sql
var migrations embed.FS

// Store is an open file of records. It may be used by several goroutines, and the file by several processes.
type Store struct {
	db      *sql.DB
	path    string
	why     error // why there is no database, where there is none
	notices []string
}

// Open opens the file of records, and makes it, and its folder, where there is none. A file that is damaged is moved
// aside, never written over, and a new one is begun. Sittings that could not be stored the last time are taken in.
func Open(path string) (*Store, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, fmt.Errorf("the folder for the records cannot be made: %w; set HORNLARK_DATA to another", err)
	}
	s := &Store{path: path}
	err = s.open()
	if damaged(err) {
		var aside string
		if aside, err = moveAside(path); err == nil {
			s.notices = append(s.notices, fmt.Sprintf("the records in %s are damaged; they have been moved to %s, and new ones begun", path, aside))
			err = s.open()
		}
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, plain(err))
	}
	s.adopt()
	return s, nil
}

// WithoutDatabase is a store for when there is none: every sitting ends up in a file of its own, and is taken in when the
// store at path can be opened again. why is the reason, as Open gave it.
func WithoutDatabase(path string, why error) *Store { return &Store{path: path, why: why} }

// Notices is what a user should be told about the records, a line each.
func (s *Store) Notices() []string { return s.notices }

// Path is where the records are kept.
func (s *Store) Path() string { return s.path }

// Close closes the file. Every sitting has to have ended.
func (s *Store) Close() error {
	if s.db == nil {
		return nil
	}
	return s.db.Close()
}

func (s *Store) open() error {
	db, err := sql.Open("sqlite", dataSource(s.path))
	if err != nil {
		return err
	}
	db.SetMaxOpenConns(1) // SQLite has one writer at a time, and readers here are rare and short
	if err := migrate(db); err != nil {
		db.Close()
		return err
	}
	s.db = db
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
func migrate(db *sql.DB) error {
	steps, err := fs.Glob(migrations, "migration/*.sql")
	if err != nil {
		return err
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
		return false, err
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
		return false, err
	case tables > 0 && application != applicationID:
		return false, errors.New("this is a database of another program; name another place for the records")
	case version > len(steps):
		return false, fmt.Errorf("the records are of version %d, and this program knows %d; use the newer program that wrote them",
			version, len(steps))
	case version == len(steps):
		return true, nil
	}
	script, err := migrations.ReadFile(steps[version])
	if err != nil {
		return false, err
	}
	for _, statement := range []string{
		string(script),
		fmt.Sprintf("PRAGMA application_id = %d", applicationID),
		fmt.Sprintf("PRAGMA user_version = %d", version+1),
	} {
		if _, err := tx.Exec(statement); err != nil {
			return false, fmt.Errorf("%s: %w", steps[version], err)
		}
	}
	return false, tx.Commit()
}

// write does something in a transaction.
func (s *Store) write(do func(*sql.Tx) error) error {
	if s.db == nil {
		return s.why
	}
	tx, err := s.db.BeginTx(context.Background(), nil)
	if err != nil {
		return plain(err)
	}
	defer tx.Rollback()
	if err := do(tx); err != nil {
		return plain(err)
	}
	return plain(tx.Commit())
}

// code is SQLite's code for an error, without what extends it, or 0.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

func damaged(err error) bool {
	c := code(err)
	return c == lib.SQLITE_CORRUPT || c == lib.SQLITE_NOTADB
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
	lib.SQLITE_CORRUPT:  "the records are damaged; they are moved aside at the next start",
	lib.SQLITE_NOTADB:   "the records are damaged; they are moved aside at the next start",
}

// plain puts an error of SQLite into words.
func plain(err error) error {
	if words, ok := inWords[code(err)]; ok {
		return fmt.Errorf("%s (%w)", words, err)
	}
	return err
}

// moveAside gives a damaged file, and what belongs to it, a name that nothing has, and returns it.
func moveAside(path string) (string, error) {
	stamp := time.Now().UTC().Format("20060102-150405")
	for n := 1; n < 1000; n++ {
		aside := fmt.Sprintf("%s.damaged-%s-%d", path, stamp, n)
		if _, err := os.Lstat(aside); !errors.Is(err, fs.ErrNotExist) {
			continue
		}
		for _, part := range []string{"", "-wal", "-shm"} {
			if err := os.Rename(path+part, aside+part); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return "", err
			}
		}
		return aside, nil
	}
	return "", fmt.Errorf("too many damaged files beside %s", path)
}
