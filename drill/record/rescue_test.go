package record

import (
	"database/sql"
	"encoding/json"
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
		{"an entry", "DELETE FROM event WHERE sitting = 1 AND seq = 3", "2 sittings whole, 1 sitting in part",
			[3]int{2, 6, 6}, [3]int{6, 6, 6}, [3]int{0, 1, 1}, "kim lee max"},
		{"the first entry", "DELETE FROM event WHERE sitting = 1 AND seq = 1", "2 sittings whole, 1 sitting in part",
			[3]int{0, 6, 6}, [3]int{6, 6, 6}, [3]int{0, 1, 1}, "kim lee max"},
		{"the last entry", "DELETE FROM event WHERE sitting = 1 AND seq = 6", "2 sittings whole, 1 sitting in part",
			[3]int{5, 6, 6}, [3]int{6, 6, 6}, [3]int{0, 1, 1}, "kim lee max"},
		{"an input", "DELETE FROM input WHERE sitting = 3 AND seq = 5", "2 sittings whole, 1 sitting in part",
			[3]int{6, 6, 6}, [3]int{6, 6, 4}, [3]int{1, 1, 0}, "kim lee max"},
		{"a result", "DELETE FROM result WHERE sitting = 2", "3 sittings whole", // as if it had been killed
			[3]int{6, 6, 6}, [3]int{6, 6, 6}, [3]int{1, 0, 1}, "kim lee max"},
		{"two sittings in part", "DELETE FROM event WHERE seq = 2 AND sitting < 3", "1 sitting whole, 2 sittings in part",
			[3]int{1, 1, 6}, [3]int{6, 6, 6}, [3]int{0, 0, 1}, "kim lee max"},
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
			if says := got.String(); says != c.says && !strings.HasPrefix(says, "with what could be read: "+c.says) {
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
