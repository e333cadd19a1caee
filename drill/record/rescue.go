package record

import (
	"database/sql"
	"fmt"
	"maps"
	"slices"
	"strings"

	lib "modernc.org/sqlite/lib"

	"hornlark/drill/logbook"
)

// Where a table cannot be read from either end its rows are looked for one by one: so many at the most, and so many in a row
// that are not found.
const (
	maxProbes = 100_000
	maxMisses = 1_000
)

// rescue copies rows from a damaged database. What it cannot read it leaves; an error is one of the new database.
type rescue struct {
	from  *sql.DB
	to    *sql.Tx
	names map[string][]string // of columns, by table
	saved
}

// row is a row by its columns.
type row []any

func (r *rescue) all() error {
	trainees, err := r.byNumber("trainee")
	if err != nil {
		return err
	}
	known := map[int64]bool{}
	for id, one := range trainees {
		if ok, err := r.insert("trainee", one); err != nil {
			return err
		} else if ok {
			known[id] = true
		}
	}
	sittings, err := r.byNumber("sitting")
	if err != nil {
		return err
	}
	columns, err := r.columns("sitting")
	if err != nil {
		return err
	}
	trainee, plan := slices.Index(columns, "trainee"), slices.Index(columns, "plan")
	for _, id := range slices.Sorted(maps.Keys(sittings)) {
		one := sittings[id]
		if of, ok := one[trainee].(int64); ok && !known[of] {
			one[trainee] = nil
			r.nameless++
		}
		if err := r.sitting(id, one, one[plan]); err != nil {
			return err
		}
	}
	results, err := r.byNumber("result")
	for id := range results {
		if sittings[id] == nil {
			r.lost++
		}
	}
	return err
}

// sitting copies a sitting with all that belongs to it, and the documents that it goes by. If its log or its inputs cannot be read to the end, it has no result:
// it is scored as far as it goes.
func (r *rescue) sitting(id int64, one row, plan any) error {
	if ok, err := r.insert("sitting", one); err != nil || !ok {
		r.lost++
		return err
	}
	if err := r.plan(plan); err != nil {
		return err
	}
	ends := false
	log, err := r.list("event", id, func(one row) {
		ends = ends || one[3] == string(logbook.End) // the kind, in every version
	})
	if err != nil {
		return err
	}
	inputs, err := r.list("input", id, func(row) {})
	if err != nil {
		return err
	}
	result, read := r.result(id)
	if !log || !inputs || !read || result != nil && !ends {
		r.part++
		return nil
	}
	if result == nil {
		r.whole++
		return nil
	}
	if ok, err := r.insert("result", result); err != nil || !ok {
		r.part++
		return err
	}
	r.whole++
	for _, table := range []string{"summary", "injection", "incident"} {
		if _, err := r.rows(table, "WHERE sitting = ?", id, nil); err != nil {
			return err
		}
	}
	return nil
}

// result reads the result of a sitting, nil if there is none, and reports whether that could be read.
func (r *rescue) result(sitting int64) (one row, read bool) {
	rows, err := r.read("result", "WHERE sitting = ?", sitting)
	if err != nil {
		return nil, false
	}
	defer rows.Close()
	if rows.Next() { // there is one at the most
		return values(rows)
	}
	return nil, rows.Err() == nil
}

// list copies the rows of a list that begins with number 1 and has no gap, and reports whether that was all of it.
func (r *rescue) list(table string, sitting int64, see func(row)) (all bool, err error) {
	next := int64(1)
	return r.rows(table, "WHERE sitting = ? ORDER BY seq", sitting, func(one row) bool {
		seq, ok := one[1].(int64) // after the sitting, in either list
		if !ok || seq != next {
			return false
		}
		next++
		see(one)
		return true
	})
}

// plan copies the documents of a sitting, if they are what they were. Others of the same are taken when they come.
func (r *rescue) plan(hash any) error {
	_, err := r.rows("plan", "WHERE hash = ?", hash, func(one row) bool {
		body, ok := one[1].(string) // after the hash
		return ok && HashOf([]byte(body)) == hash
	})
	return err
}

// rows copies the rows that are chosen, none where this version has no such table, as long as they can be read and are wanted, and reports whether those were all.
func (r *rescue) rows(table, where string, arg any, wanted func(row) bool) (all bool, err error) {
	rows, err := r.read(table, where, arg)
	if err != nil {
		return false, nil
	}
	defer rows.Close()
	for rows.Next() {
		one, ok := values(rows)
		if !ok || wanted != nil && !wanted(one) {
			return false, nil
		}
		if ok, err := r.insert(table, one); err != nil || !ok {
			return false, err
		}
	}
	return rows.Err() == nil, nil
}

// byNumber reads a table whose rows have numbers: from its beginning as far as it can be read, from its end, and one by one
// what is in between.
func (r *rescue) byNumber(table string) (map[int64]row, error) {
	if _, err := r.columns(table); err != nil {
		return nil, err
	}
	found := map[int64]row{}
	low, all := r.scan(table, "NOT INDEXED ORDER BY rowid", found)
	if all {
		return found, nil
	}
	high, _ := r.scan(table, "NOT INDEXED ORDER BY rowid DESC", found)
	misses := 0
	for n := range int64(maxProbes) {
		id := low + 1 + n
		if id == high || misses == maxMisses {
			break
		}
		misses++
		if r.scan(table, fmt.Sprintf("NOT INDEXED WHERE rowid = %d", id), found); found[id] != nil {
			misses = 0
		}
	}
	return found, nil
}

// scan reads rows by their numbers, and gives the last that could be read.
func (r *rescue) scan(table, where string, into map[int64]row) (last int64, all bool) {
	rows, err := r.read(table, where)
	if err != nil {
		return 0, false
	}
	defer rows.Close()
	for rows.Next() {
		one, ok := values(rows)
		if !ok {
			return last, all
		}
		id, ok := one[0].(int64)
		if !ok {
			return last, all
		}
		into[id], last = one, id
	}
	return last, rows.Err() == nil
}

func (r *rescue) read(table, where string, args ...any) (*sql.Rows, error) {
	columns, err := r.columns(table)
	if err != nil {
		return nil, err
	}
	return r.from.Query(fmt.Sprintf("SELECT %s FROM %s %s", strings.Join(columns, ", "), table, where), args...)
}

// columns gives the columns of a table of the new database, which has the version of the old one; nil if there is none.
func (r *rescue) columns(table string) (columns []string, err error) {
	if known, ok := r.names[table]; ok {
		return known, nil
	}
	rows, err := r.to.Query("SELECT name FROM pragma_table_info(?)", table)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		columns = append(columns, name)
	}
	r.names[table] = columns
	return columns, rows.Err()
}

// values takes the row that has been read.
func values(rows *sql.Rows) (row, bool) {
	columns, err := rows.Columns()
	if err != nil {
		return nil, false
	}
	one, into := make(row, len(columns)), make([]any, len(columns))
	for i := range one {
		into[i] = &one[i]
	}
	return one, rows.Scan(into...) == nil
}

// insert adds a row to the new database, unless it breaks a rule of the tables: then it was damaged.
func (r *rescue) insert(table string, one row) (ok bool, err error) {
	marks := strings.TrimSuffix(strings.Repeat("?, ", len(one)), ", ")
	_, err = r.to.Exec(fmt.Sprintf("INSERT INTO %s VALUES (%s) ON CONFLICT DO NOTHING", table, marks), one...)
	if code(err) == lib.SQLITE_CONSTRAINT || code(err) == lib.SQLITE_MISMATCH {
		return false, nil
	}
	return err == nil, err
}
