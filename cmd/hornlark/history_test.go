package main

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"
)

// keepMany keeps one sitting, and copies it in the database as often as is wanted, each with a uid and a start of its own, in turn by so many trainees.
func keepMany(t testing.TB, folder, scenario string, trainees, n int) {
	t.Helper()
	one := made{data: folder, scenario: scenario, trainee: "trainee 0", version: "test", started: time.Date(2020, 1, 1, 8, 0, 0, 0, time.UTC)}
	if err := one.keep(); err != nil {
		t.Fatal(err)
	}
	db := openPlain(filepath.Join(folder, "hornlark.db"))
	defer db.Close()
	for k := 1; k < trainees; k++ {
		if _, err := db.Exec("INSERT INTO trainee (name) VALUES (?)", fmt.Sprintf("trainee %d", k)); err != nil {
			t.Fatal(err)
		}
	}
	columns := func(table string) (list string) {
		rows, err := db.Query("SELECT name FROM pragma_table_info('" + table + "')")
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		for rows.Next() {
			var name string
			if err := rows.Scan(&name); err != nil {
				t.Fatal(err)
			}
			switch {
			case table == "sitting" && name == "id":
				name = "n.i"
			case table == "sitting" && name == "uid":
				name = "printf('MANY%08d', n.i)"
			case table == "sitting" && name == "trainee":
				name = fmt.Sprintf("(SELECT id FROM trainee WHERE name = printf('trainee %%d', n.i %% %d))", trainees)
			case name == "started_ns" || name == "ended_ns": // a minute after the one before
				name = "s." + name + " + n.i * 60000000000"
			case name == "sitting":
				name = "n.i"
			default:
				name = "s." + name
			}
			list += ", " + name
		}
		return list[2:]
	}
	for _, table := range []string{"sitting", "result", "event", "input", "summary"} {
		key := "sitting"
		if table == "sitting" {
			key = "id"
		}
		if _, err := db.Exec(fmt.Sprintf("WITH RECURSIVE n(i) AS (VALUES (2) UNION ALL SELECT i + 1 FROM n WHERE i < %d) INSERT INTO %s SELECT %s FROM %s s, n WHERE s.%s = 1",
			n, table, columns(table), table, key)); err != nil {
			t.Fatalf("%s: %v", table, err)
		}
	}
}
