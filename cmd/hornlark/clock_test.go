package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Sittings are sat at a desk whose clock is set back by an hour and a year, stands in 1970, 2100 and 2263, and is right again: the report on the
// latest one is on the one that was sat last, a date that cannot be is not claimed, and another desk takes in all of them. The dates are set where
// the sitting takes them from the clock: libfaketime does not reach a Go program, which asks the kernel itself.
func TestSittingsByWrongClocks(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes live sittings")
	}
	brief, err := filepath.Abs(filepath.Join("testdata", "brief"))
	if err != nil {
		t.Fatal(err)
	}
	here, there := t.TempDir(), t.TempDir()
	t.Setenv("HOME", here)
	t.Setenv("XDG_CONFIG_HOME", here)
	t.Setenv("XDG_CACHE_HOME", here)
	for _, pair := range noSound(here) {
		name, value, _ := strings.Cut(pair, "=")
		t.Setenv(name, value)
	}
	command := func(data string, args ...string) (out, told string) {
		t.Helper()
		t.Setenv("HORNLARK_DATA", filepath.Join(data, "data"))
		var stdout, stderr bytes.Buffer
		if status := run(t.Context(), args, streams{in: os.Stdin, out: &stdout, err: &stderr}); status != exitPassed {
			t.Fatalf("%q: status %d\n%s%s", args, status, &stdout, &stderr)
		}
		return stdout.String(), stderr.String()
	}
	defer func(was func(time.Time) time.Time) { wallClock = was }(wallClock)
	clocks := []struct {
		name  string
		set   func(time.Time) time.Time
		shown string // of the date; empty: that which the clock says
	}{
		{"right", func(at time.Time) time.Time { return at.Round(0) }, ""},
		{"back by an hour", func(at time.Time) time.Time { return at.Round(0).Add(-time.Hour) }, ""},
		{"back by a year", func(at time.Time) time.Time { return at.Round(0).AddDate(-1, 0, 0) }, ""},
		{"never set", func(at time.Time) time.Time { return time.Unix(100, 0) }, "date not known"},
		{"in 2100", func(at time.Time) time.Time { return time.Date(2100, 6, 1, 0, 0, 0, 0, time.UTC) }, "date not known"},
		{"in 2263", func(at time.Time) time.Time { return time.Date(2263, 6, 1, 0, 0, 0, 0, time.UTC) }, "date not known"},
		{"right again", func(at time.Time) time.Time { return at.Round(0) }, ""},
	}
	for i, c := range clocks {
		var said time.Time
		wallClock = func(at time.Time) time.Time { said = c.set(at); return said }
		began := time.Now()
		_, told := command(here, "drill", filepath.Join(brief, "scenario.yaml"), "--with", brief, "--answers", "perfect", "--silent", "--trainee", "kim")
		took := time.Since(began)
		if strings.Contains(told, "the clock of this machine stands at") != (c.shown != "") {
			t.Errorf("%s: told %q", c.name, told)
		}
		want := c.shown
		if want == "" {
			want = said.Local().Format("2006-01-02 15:04")
		}
		report, _ := command(here, "debrief")
		if !strings.Contains(report, want) || c.shown != "" && strings.Contains(report, "2099-12") {
			t.Errorf("%s: the report has not %q:\n%.300s", c.name, want, report)
		}
		store, err := openRecords(streams{err: os.Stderr})
		if err != nil {
			t.Fatal(err)
		}
		latest, err := sittingOf(store, nil)
		if err != nil || latest.ID != int64(i+1) {
			t.Errorf("%s: the latest sitting is %d, %v", c.name, latest.ID, err)
		}
		if lasted := latest.Ended.Sub(latest.Started); lasted <= 0 || lasted > took+time.Second {
			t.Errorf("%s: it lasted %v of %v", c.name, lasted, took)
		}
		store.Close()
	}
	file := filepath.Join(here, "all.json")
	command(here, "export", "--out", file)
	if out, _ := command(there, "import", file); !strings.Contains(out, "7 sittings new") {
		t.Errorf("imported: %s", out)
	}
	again := filepath.Join(there, "all.json")
	command(there, "export", "--out", again)
	a, _ := os.ReadFile(file)
	if b, _ := os.ReadFile(again); len(a) == 0 || !bytes.Equal(a, b) {
		t.Error("exported again it is something else")
	}
	if out, _ := command(here, "import", file); !strings.Contains(out, "0 sittings new, 7 known") {
		t.Errorf("imported here: %s", out)
	}
	for _, args := range [][]string{{"progress"}, {"export", "--as", "csv"}, {"export", "--as", "xapi"}, {"progress", "--html", "-"}, {"debrief", "--html", "-"}, {"replay", "6"}} {
		command(there, args...)
	}
}
