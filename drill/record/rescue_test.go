package record

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"hornlark/drill/logbook"
)

// ended stores a sitting whose log comes to its end.
func ended(t *testing.T, s *Store, trainee string, entries int) {
	t.Helper()
	sitting := example()
	sitting.Trainee, sitting.Documents = trainee, json.RawMessage(`{"for":"`+trainee+`"}`)
	sitting.Plan = HashOf(sitting.Documents)
	w, err := s.Begin(sitting)
	if err != nil {
		t.Fatal(err)
	}
	for i := range entries {
		e := entry(i + 1)
		if i == entries-1 {
			e = logbook.Entry{Seq: i + 1, At: e.At, Kind: logbook.End, Why: logbook.Complete, OK: true}
		}
		w.Append(e)
		w.Input(e.At, []byte(`{"press":"a"}`))
	}
	if err := w.End([]byte(judged), true, judgedDigest()); err != nil {
		t.Fatal(err)
	}
}

// Of damaged records each sitting comes back whole, or as far as its log and its inputs have no gap and then without a result, or without
// the name that cannot be found; and what is said of it counts each of these, and what is lost. Here the damage is rows that are gone.
func TestWhatIsRescued(t *testing.T) {
	const inPart = ", as if killed where it could not be read further"
	for _, c := range []struct {
		name, gone string // statements that take rows away
		says       string
		events     [3]int // by sitting
		inputs     [3]int
		results    [3]int
		names      string
	}{
		{"nothing", "", "3 sittings whole", [3]int{6, 6, 6}, [3]int{6, 6, 6}, [3]int{1, 1, 1}, "kim lee max"},
		{"a name", "DELETE FROM trainee WHERE name = 'lee'", "3 sittings whole, 1 sitting without the trainee's name",
			[3]int{6, 6, 6}, [3]int{6, 6, 6}, [3]int{1, 1, 1}, "kim max"},
		{"a sitting", "DELETE FROM sitting WHERE id = 2", "2 sittings whole; of 1 sitting there was too little left",
			[3]int{6, 0, 6}, [3]int{6, 0, 6}, [3]int{1, 0, 1}, "kim lee max"},
		{"a sitting and its result", "DELETE FROM sitting WHERE id = 2; DELETE FROM result WHERE sitting = 2", "2 sittings whole",
			[3]int{6, 0, 6}, [3]int{6, 0, 6}, [3]int{1, 0, 1}, "kim lee max"},
		{"an entry", "DELETE FROM event WHERE sitting = 1 AND seq = 3", "2 sittings whole, 1 sitting in part" + inPart,
			[3]int{2, 6, 6}, [3]int{6, 6, 6}, [3]int{0, 1, 1}, "kim lee max"},
		{"the first entry", "DELETE FROM event WHERE sitting = 1 AND seq = 1", "2 sittings whole, 1 sitting in part" + inPart,
			[3]int{0, 6, 6}, [3]int{6, 6, 6}, [3]int{0, 1, 1}, "kim lee max"},
		{"the last entry", "DELETE FROM event WHERE sitting = 1 AND seq = 6", "2 sittings whole, 1 sitting in part" + inPart,
			[3]int{5, 6, 6}, [3]int{6, 6, 6}, [3]int{0, 1, 1}, "kim lee max"},
		{"an input", "DELETE FROM input WHERE sitting = 3 AND seq = 5", "2 sittings whole, 1 sitting in part" + inPart,
			[3]int{6, 6, 6}, [3]int{6, 6, 4}, [3]int{1, 1, 0}, "kim lee max"},
		{"a result", "DELETE FROM result WHERE sitting = 2", "3 sittings whole", // as if it had been killed
			[3]int{6, 6, 6}, [3]int{6, 6, 6}, [3]int{1, 0, 1}, "kim lee max"},
		{"two sittings in part", "DELETE FROM event WHERE seq = 2 AND sitting < 3", "1 sitting whole, 2 sittings in part" + inPart,
			[3]int{1, 1, 6}, [3]int{6, 6, 6}, [3]int{0, 0, 1}, "kim lee max"},
		{"an entry that cannot be", "PRAGMA ignore_check_constraints = ON; UPDATE event SET body = '~' WHERE sitting = 1 AND seq = 3",
			"2 sittings whole, 1 sitting in part" + inPart, [3]int{2, 6, 6}, [3]int{6, 6, 6}, [3]int{0, 1, 1}, "kim lee max"},
		{"an input that cannot be", "PRAGMA ignore_check_constraints = ON; UPDATE input SET body = '~' WHERE sitting = 2 AND seq = 6",
			"2 sittings whole, 1 sitting in part" + inPart, [3]int{6, 6, 6}, [3]int{6, 5, 6}, [3]int{1, 0, 1}, "kim lee max"},
		{"a result that cannot be", "PRAGMA ignore_check_constraints = ON; UPDATE result SET complete = 7 WHERE sitting = 3",
			"2 sittings whole, 1 sitting in part" + inPart, [3]int{6, 6, 6}, [3]int{6, 6, 6}, [3]int{1, 1, 0}, "kim lee max"},
		{"a sitting that cannot be", "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql, 'NOT NULL', '') WHERE name = 'sitting'; " +
			"PRAGMA writable_schema = RESET; UPDATE sitting SET scenario = NULL WHERE id = 2", "2 sittings whole; of 1 sitting there was too little left",
			[3]int{6, 0, 6}, [3]int{6, 0, 6}, [3]int{1, 0, 1}, "kim lee max"},
		{"something of each", "DELETE FROM event WHERE sitting = 1 AND seq = 3; DELETE FROM sitting WHERE id = 2; DELETE FROM trainee WHERE name = 'max'",
			"1 sitting whole, 1 sitting in part" + inPart + ", 1 sitting without the trainee's name; of 1 sitting there was too little left",
			[3]int{2, 0, 6}, [3]int{6, 0, 6}, [3]int{0, 0, 1}, "kim lee"},
		{"all sittings", "DELETE FROM sitting; DELETE FROM result", "without any sitting: nothing could be read",
			[3]int{}, [3]int{}, [3]int{}, "kim lee max"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := fresh(t)
			s := open(t, path)
			for _, name := range []string{"kim", "lee", "max"} {
				ended(t, s, name, 6)
			}
			s.Close()
			db, err := sql.Open("sqlite", strings.Replace(dataSource(path), "foreign_keys(1)", "foreign_keys(0)", 1))
			if err != nil {
				t.Fatal(err)
			}
			db.SetMaxOpenConns(1)
			// Records are only added to, which the tables see to themselves.
			_, err = db.Exec(withoutTriggers(t, db) + c.gone)
			if err != nil {
				t.Fatal(err)
			}
			db.Close()
			got, err := rebuild(path)
			if err != nil {
				t.Fatal(err)
			}
			if says := got.String(); says != c.says && says != "with what could be read: "+c.says {
				t.Errorf("%q; wanted %q", says, c.says)
			}
			rescued(t, newPath(path), func(count func(string, ...any) int, names []string) {
				for i := range 3 {
					id := i + 1
					events, inputs := count("SELECT count(*) FROM event WHERE sitting = ?", id), count("SELECT count(*) FROM input WHERE sitting = ?", id)
					results, injections := count("SELECT count(*) FROM result WHERE sitting = ?", id), count("SELECT count(*) FROM injection WHERE sitting = ?", id)
					if events != c.events[i] || inputs != c.inputs[i] || results != c.results[i] || injections != 2*c.results[i] {
						t.Errorf("sitting %d: %d entries, %d inputs, %d results, %d injections; wanted %d, %d, %d", id,
							events, inputs, results, injections, c.events[i], c.inputs[i], c.results[i])
					}
				}
				if got := strings.Join(names, " "); got != c.names {
					t.Errorf("names %q; wanted %q", got, c.names)
				}
				if plans, sittings := count("SELECT count(*) FROM plan"), count("SELECT count(DISTINCT plan) FROM sitting"); plans != sittings {
					t.Errorf("documents of %d plans for %d that sittings go by", plans, sittings)
				}
			})
		})
	}
}

// Whichever pages of a table are gone, the rows on all others come back: those before, those after and those between them.
func TestRowsBetweenDamagedPages(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	const names = 300
	err := s.write(func(tx *sql.Tx) (err error) {
		for i := range names {
			if err == nil {
				_, err = tx.Exec("INSERT INTO trainee (name) VALUES (?)", fmt.Sprintf("Trainee %03d %s", i, strings.Repeat("x", 60)))
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	s.Close()
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	name := regexp.MustCompile(`Trainee \d{3}`)
	pages, on := leaves(good, name)
	if n := len(slices.Concat(on...)); n != names || len(pages) < 5 {
		t.Fatalf("%d names on %d pages", n, len(pages))
	}
	last := len(pages) - 1
	for _, gone := range [][]int{{}, {0}, {last}, {2}, {0, last}, {0, 1, last}, {0, 2, last}, {1, 3}, {1, last - 1}, {0, last - 1, last}} {
		bad := bytes.Clone(good)
		var want []string
		for i, page := range pages {
			if slices.Contains(gone, i) {
				clear(bad[page*pageSize : (page+1)*pageSize])
			} else {
				want = append(want, on[i]...)
			}
		}
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := rebuild(path); err != nil {
			t.Fatal(err)
		}
		rescued(t, newPath(path), func(_ func(string, ...any) int, names []string) {
			var got []string
			for _, one := range names {
				got = append(got, name.FindString(one))
			}
			if !slices.Equal(got, want) {
				t.Errorf("without the pages %d of 0 to %d: %d names, %d wanted", gone, last, len(got), len(want))
			}
		})
	}
}

const pageSize = 4096

// leaves gives the pages of a database on which rows of a table have what matches, in their order, and what that is. A leaf of a
// table begins with 13: The SQLite Database File Format, 1.6.
func leaves(file []byte, match *regexp.Regexp) (pages []int, on [][]string) {
	for page := range len(file) / pageSize {
		at := file[page*pageSize : (page+1)*pageSize]
		found := match.FindAllString(string(at), -1)
		if at[0] != 13 || len(found) == 0 {
			continue
		}
		slices.Sort(found)
		i, _ := slices.BinarySearchFunc(on, found[0], func(a []string, b string) int { return strings.Compare(a[0], b) })
		pages, on = slices.Insert(pages, i, page), slices.Insert(on, i, found)
	}
	return pages, on
}

// A sitting whose result cannot be read is told of as one of which a part is left, and one that never had a result as a whole one. What
// came from another desk is put right like what was kept here.
func TestResultsOnADamagedPage(t *testing.T) {
	from := open(t, fresh(t))
	const sittings = 7
	for i := range sittings {
		ended(t, from, fmt.Sprint("trainee ", i), 2)
	}
	body := export(t, from)
	for i := range sittings {
		body = bytes.Replace(body, []byte(`{"passed":true`), fmt.Appendf(nil, `{"number":"result %d","text":"%s","passed":true`, i, strings.Repeat("x", 1500)), 1)
	}
	path := fresh(t)
	s := open(t, path)
	if got, err := takeIn(s, bytes.NewReader(body), anything); err != nil || got.New != sittings {
		t.Fatal(got, err)
	}
	s.Close()
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	pages, on := leaves(good, regexp.MustCompile(`"result \d`))
	if n := len(slices.Concat(on...)); n != sittings || len(pages) < 3 {
		t.Fatalf("%d results on %d pages", n, len(pages))
	}
	for i, page := range append([]int{-1}, pages...) {
		bad, part := bytes.Clone(good), 0
		if page >= 0 {
			clear(bad[page*pageSize : (page+1)*pageSize])
			part = len(on[i-1])
		}
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		if got, err := rebuild(path); err != nil || got != (saved{whole: sittings - part, part: part}) {
			t.Errorf("with %d results gone: %+v, %v", part, got, err)
		}
	}
}

// withoutTriggers is the statements that take away what keeps rows from being deleted.
func withoutTriggers(t *testing.T, db *sql.DB) (drop string) {
	t.Helper()
	rows, err := db.Query("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		drop += "DROP TRIGGER " + name + "; "
	}
	return drop
}

// rescued looks into a database.
func rescued(t *testing.T, path string, look func(count func(query string, args ...any) int, names []string)) {
	t.Helper()
	db, err := sql.Open("sqlite", dataSource(path))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	names, err := gather(db, "SELECT name FROM trainee", nil, func(rows *sql.Rows) (name string, err error) { return name, rows.Scan(&name) })
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(names)
	look(func(query string, args ...any) (n int) {
		if err := db.QueryRow(query, args...).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}, names)
}

// With all of a table gone the sittings are told of as what is left of them.
func TestRescuedWithoutATable(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	const sittings = 3
	for _, name := range []string{"kim", "lee", "max"} {
		ended(t, s, name, 4)
	}
	roots := map[string]int{}
	for _, table := range []string{"trainee", "sitting", "event", "input", "result", "plan", "summary", "injection"} {
		var root int
		if err := s.db.QueryRow("SELECT rootpage FROM sqlite_schema WHERE name = ?", table).Scan(&root); err != nil {
			t.Fatal(table, err)
		}
		roots[table] = root
	}
	s.Close()
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for table, root := range roots {
		want := saved{whole: sittings}
		switch table {
		case "trainee":
			want.nameless = sittings
		case "sitting":
			want = saved{lost: sittings}
		case "event", "input", "result":
			want = saved{part: sittings}
		}
		bad := bytes.Clone(good)
		clear(bad[(root-1)*pageSize : root*pageSize])
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		if got, err := rebuild(path); err != nil || got != want {
			t.Errorf("without %s: %+v, %v; wanted %+v", table, got, err, want)
		}
	}
}
