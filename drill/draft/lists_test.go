package draft

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// whole is what a line has become, with what it says besides.
func whole(g *mapped) string {
	out := brief(g)
	if g.callout != nil {
		out = fmt.Sprintf("callout %s %v", g.callout.Gauge, g.callout.Value)
		if g.callout.Down {
			out += " falling"
		}
		if g.guess != "" {
			out += " ?"
		}
	}
	for _, more := range []struct{ what, is string }{{"when", g.when}, {"after", g.after}, {"hold", g.holdOn}, {"may hold", g.mayHold}, {"crew", g.crew}} {
		if more.is != "" {
			out += fmt.Sprintf("; %s %s", more.what, more.is)
		}
	}
	if g.unfitted {
		out += "; not fitted"
	}
	return out
}

// mappedList maps a checklist of the tests.
func mappedList(t *testing.T, name, profile string) []mapped {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "lists", name))
	if err != nil {
		t.Fatal(err)
	}
	list, err := Read(data, FormatOf(name, data))
	if err != nil {
		t.Fatal(err)
	}
	var all []mapped
	for _, phase := range mapAll(list, builtin(t, profile)) {
		all = append(all, phase...)
	}
	return all
}

// Checklists of forty lines in the styles of the trade, ours, of aircraft that never existed. What each line should become was written down
// by hand, in the file beside it, a row each; "not mapped" where the aircraft has nothing that answers to it.
func TestListsOfTheTrade(t *testing.T) {
	for _, c := range []struct {
		file, profile string
	}{{"dunlin.txt", "dunlin-lt"}, {"turnstone.md", "turnstone-st"}, {"whinchat.csv", "whinchat-pt"}, {"tabs.txt", "dunlin-lt"}} {
		wanted, err := os.Open(filepath.Join("testdata", "lists", c.file+".want"))
		if err != nil {
			t.Fatal(err)
		}
		defer wanted.Close()
		rows := bufio.NewScanner(wanted)
		right, guessed, wrong, unmapped := 0, 0, 0, 0
		all := mappedList(t, c.file, c.profile)
		for i := range all {
			g := &all[i]
			if !rows.Scan() {
				t.Fatalf("%s: more than %d lines", c.file, i)
			}
			want, got := rows.Text(), whole(g)
			sure := strings.Replace(got, " ?", "", 1)
			switch {
			case sure == want && g.guess == "":
				right++
			case sure == want:
				guessed++
			case g.problem != "":
				unmapped++
				t.Logf("%s:%d: %q, %q: not mapped, want %s (%s; %v)", c.file, g.line.Row, g.line.Challenge, g.line.Response, want, g.problem, g.near)
			default:
				wrong++
				t.Errorf("%s:%d: %q, %q: %s, want %s (%s)", c.file, g.line.Row, g.line.Challenge, g.line.Response, got, want, g.guess)
			}
		}
		if rows.Scan() {
			t.Errorf("%s: only %d lines", c.file, len(all))
		}
		if len(all) < 30 || right+guessed < len(all)*5/6 {
			t.Errorf("%s: only %d of %d lines are right", c.file, right+guessed, len(all))
		}
		t.Logf("%s: of %d lines %d right, %d right by a guess, %d wrong, %d not mapped that should be", c.file, len(all), right, guessed, wrong, unmapped)
	}
}
