package main

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// What moves the clock of the records is a time or a difference; anything else is refused, in words that have what was written.
func TestMovedBy(t *testing.T) {
	began := time.Date(2026, 11, 20, 18, 0, 0, 0, time.UTC)
	for value, want := range map[string]time.Duration{
		"":                          0,
		"+72h":                      72 * time.Hour,
		"-1h30m":                    -90 * time.Minute,
		"+0h":                       0,
		"2026-11-20T18:00:05Z":      5 * time.Second,
		"2026-11-23T19:00:00+01:00": 72 * time.Hour,
		"2025-11-20T18:00:00Z":      -365 * 24 * time.Hour,
	} {
		if got, err := movedBy(value, began); err != nil || got != want {
			t.Errorf("%q moves by %v, %v; want %v", value, got, err, want)
		}
	}
	for _, value := range []string{"72h", "tomorrow", "+3", "+", "+three days", "2026-11-20", "2026-11-20 18:00", "2026-13-20T18:00:00Z", "1999-01-01T00:00:00Z",
		"2100-01-01T00:00:00Z", "+900000h", "-900000h", "+99999999999h", " +72h", "0001-01-01T00:00:00Z", "9999-01-01T00:00:00Z"} {
		_, err := movedBy(value, began)
		var usage usageError
		if !errors.As(err, &usage) || !strings.Contains(err.Error(), clockVariable) || !strings.Contains(err.Error(), strings.TrimSpace(value)) {
			t.Errorf("%q: %v", value, err)
		}
	}
}

// A moved clock goes on, and keeps its reading of the clock that nobody sets.
func TestRecordsTime(t *testing.T) {
	at := time.Now()
	if got := recordsTime(at); got != at {
		t.Errorf("not moved it is %v, want %v", got, at)
	}
	t.Setenv(clockVariable, "+72h")
	if got := recordsTime(at); got != at.Add(72*time.Hour) {
		t.Errorf("moved it is %v, want %v", got, at.Add(72*time.Hour))
	}
	t.Setenv(clockVariable, "2031-05-06T07:08:09Z")
	first := recordsNow()
	if day := first.UTC().Format(time.DateOnly); day != "2031-05-06" {
		t.Errorf("set to the 6th of May it is %s", day)
	}
	if second := recordsNow(); second.Before(first) || recordsMoved() == 0 {
		t.Errorf("the clock stood at %v, then at %v", first, second)
	}
	for moved, want := range map[time.Duration]string{
		0: "", 72 * time.Hour: " (date set: the clock was moved by +72 h 00 min)", -90*time.Minute + time.Second: " (date set: the clock was moved by -1 h 30 min)",
	} {
		if got := asOf(moved); got != want {
			t.Errorf("moved by %v: %q, want %q", moved, got, want)
		}
	}
}

// The time of the records comes from one place. Whoever else looks at the clock measures how long something takes; each of them is known
// here. A new one is for measuring, or has to ask recordsNow.
func TestOneClockOfTheRecords(t *testing.T) {
	measuring := []string{
		"clock.go: recordsNow", "clock.go: runBegan",
		"desk/clock.go: Now", "progress.go: progress", "records_walk.go: walk", "root.go: swell", "sound.go: open", "sound_keys.go: readKeys", "stopping.go: force",
	}
	files, err := filepath.Glob("*.go")
	desks, wrong := filepath.Glob("desk/*.go")
	if err = errors.Join(err, wrong); err != nil || len(files) == 0 || len(desks) == 0 {
		t.Fatal(files, desks, err)
	}
	files = append(files, desks...)
	var found []string
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			of := ""
			switch d := d.(type) {
			case *ast.FuncDecl:
				of = d.Name.Name
			case *ast.GenDecl:
				for _, spec := range d.Specs {
					if v, ok := spec.(*ast.ValueSpec); ok {
						of = v.Names[0].Name
					}
				}
			}
			ast.Inspect(d, func(n ast.Node) bool {
				if s, ok := n.(*ast.SelectorExpr); ok && s.Sel.Name == "Now" {
					if x, ok := s.X.(*ast.Ident); ok && x.Name == "time" {
						found = append(found, filepath.ToSlash(name)+": "+of)
					}
				}
				return true
			})
		}
	}
	slices.Sort(found)
	found = slices.Compact(found)
	slices.Sort(measuring)
	if !slices.Equal(found, measuring) {
		t.Errorf("time.Now is asked by\n  %s\nand known to measure with it are\n  %s", strings.Join(found, "\n  "), strings.Join(measuring, "\n  "))
	}
}

// Who sits here is kept for this user alone, and what cannot be read there is told of and changes nothing.
func TestWhoSitsHere(t *testing.T) {
	if _, err := os.UserConfigDir(); err != nil {
		t.Skip("there is no folder for settings")
	}
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	t.Setenv("HOME", t.TempDir())
	t.Setenv("AppData", t.TempDir())
	path, err := seatPath()
	if err != nil {
		t.Fatal(err)
	}
	is := func(want string) {
		t.Helper()
		if got, err := remembered(); err != nil || got != want {
			t.Errorf("%q sits here, %v; want %q", got, err, want)
		}
	}
	is("")
	for _, name := range []string{"kim", "Žofie Ng'ang'a", "kim"} {
		if err := remember(name); err != nil {
			t.Fatal(err)
		}
		is(name)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm()&0o077 != 0 && os.PathSeparator == '/' {
		t.Errorf("%v, %v", info.Mode(), err)
	}
	if err := errors.Join(forgetSettings("ann"), forgetSettings("")); err != nil {
		t.Error(err)
	}
	is("kim")
	if err := forgetSettings("kim"); err != nil {
		t.Error(err)
	}
	is("")
	for _, text := range []string{"", "{", `{"trainee": "=kim"}`, `{"trainee": "a\u001b[2J"}`, `{"name": "kim"}`, strings.Repeat(" ", maxSettingsBytes+1)} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if name, err := remembered(); err == nil || name != "" || !strings.Contains(err.Error(), path) {
			t.Errorf("%.40q: %q, %v", text, name, err)
		}
	}
}

// Whoever sits down at a terminal is asked once, before anything else, and no byte is taken that is typed ahead for the screen.
func TestTakeSeat(t *testing.T) {
	for _, dir := range []string{"XDG_CONFIG_HOME", "HOME", "AppData"} {
		t.Setenv(dir, t.TempDir())
	}
	for _, test := range []struct {
		name                    string
		before                  string
		o                       drillOptions
		typed                   string
		asked                   int
		named                   bool // the scenario was
		want, after, left, said string
	}{
		{name: "nobody known, nothing given", o: drillOptions{streams: streams{terminal: true}}, typed: "\nx", asked: 1, left: "x", said: "kept without a name; for somebody"},
		{name: "a scenario was named", named: true, o: drillOptions{streams: streams{terminal: true}}, typed: "x", left: "x", said: "kept without a name; for somebody"},
		{name: "asked and told", o: drillOptions{streams: streams{terminal: true}}, typed: " kim \r\nab", asked: 1, want: "kim", after: "kim", left: "ab", said: "kept for kim; another: --trainee NAME, none: --nobody"},
		{name: "no name", o: drillOptions{streams: streams{terminal: true}}, typed: "=1\nkim\n", asked: 2, want: "kim", after: "kim", said: "kept for kim"},
		{name: "the end of what is typed", o: drillOptions{streams: streams{terminal: true}}, asked: 1, said: "kept without a name"},
		{name: "remembered", before: "ann", o: drillOptions{streams: streams{terminal: true}}, typed: "x", want: "ann", after: "ann", left: "x", said: "kept for ann"},
		{name: "another given", before: "ann", o: drillOptions{streams: streams{terminal: true}, trainee: "kim"}, want: "kim", after: "kim", said: "kept for kim"},
		{name: "nobody wanted", before: "ann", o: drillOptions{streams: streams{terminal: true}, nobody: true}, after: "ann", said: "kept without a name"},
		{name: "no terminal", o: drillOptions{}, typed: "kim\n", left: "kim\n", said: "kept without a name"},
		{name: "answers are nobody's", before: "ann", o: drillOptions{streams: streams{terminal: true}, answers: "perfect"}, after: "ann", said: "kept without a name, since answers are played"},
		{name: "answers for somebody", before: "ann", o: drillOptions{answers: "perfect", trainee: "kim"}, want: "kim", after: "ann", said: "kept for kim"},
		{name: "virtual", before: "ann", o: drillOptions{answers: "perfect", virtual: true, trainee: "kim"}, want: "kim", after: "ann", said: "kept for kim"},
		{name: "settled before", before: "ann", o: drillOptions{streams: streams{terminal: true}, seated: true}, after: "ann", said: "kept without a name"},
	} {
		if err := remember(test.before); err != nil {
			t.Fatal(err)
		}
		var out strings.Builder
		in := strings.NewReader(test.typed)
		o := test.o
		o.in, o.out, o.err = in, &out, &out
		if err := o.takeSeat(!test.named); err != nil {
			t.Errorf("%s: %v", test.name, err)
		}
		after, err := remembered()
		left := test.typed[len(test.typed)-in.Len():]
		if o.trainee != test.want || after != test.after || err != nil || left != test.left || strings.Count(out.String(), "Who sits here?") != test.asked || !strings.HasPrefix(o.keptFor(), test.said) {
			t.Errorf("%s: %q sits there, %q is remembered (%v), %q is left, %q was said, then %q", test.name, o.trainee, after, err, left, out.String(), o.keptFor())
		}
	}
}
