package record

import (
	"bytes"
	crand "crypto/rand"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hornlark/drill/logbook"
)

// Whatever page of the database is damaged, the records can be used at once, what can be read is there whole or as far as it
// goes, the damaged file is kept as it was, and what is said about it is so and is said once.
func TestEveryPageDamaged(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	const sittings, entries = 7, 60
	for i := range sittings {
		keepWhole(t, s, fmt.Sprintf("Trainee %c", 'A'+i), entries)
	}
	s.Close()
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const size = 4096
	noticed, whole, part := 0, 0, 0
	for page := range len(good) / size {
		for _, how := range []string{"noise", "zeros", "another page"} {
			if testing.Short() && page%5 != 0 || how == "zeros" && page%3 != 0 {
				continue
			}
			bad := bytes.Clone(good)
			switch at := bad[page*size : (page+1)*size]; how {
			case "noise":
				crand.Read(at)
			case "zeros":
				clear(at)
			default:
				copy(at, good[((page+7)%(len(good)/size))*size:])
			}
			path := filepath.Join(t.TempDir(), "hornlark.db")
			if err := os.WriteFile(path, bad, 0o600); err != nil {
				t.Fatal(err)
			}
			name := fmt.Sprintf("page %d, %s", page+1, how)
			s, err := Open(path)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			found := usable(t, s, name, entries)
			notices := s.Notices()
			if len(notices) > 0 {
				noticed++
				whole += found[Complete]
				part += found[Unended]
				said := count(found[Complete]) + " whole"
				if found[Complete]+found[Unended] == 0 {
					said = "nothing could be read"
				}
				aside, _ := filepath.Glob(path + ".damaged-*-1")
				if len(notices) != 1 || len(aside) != 1 || !strings.Contains(notices[0], "have been moved to "+aside[0]) || !strings.Contains(notices[0], said) {
					t.Errorf("%s: %q, %q; found %v", name, notices, aside, found)
				} else if kept, err := os.ReadFile(aside[0]); err != nil || !bytes.Equal(kept, bad) {
					t.Errorf("%s: the damaged file was changed: %v", name, err)
				}
			} else if found[Complete] != sittings {
				t.Errorf("%s: nothing was said, and there are %v", name, found)
			}
			keepWhole(t, s, "Trainee Z", 2)
			if err := s.Close(); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			again := open(t, path)
			usable(t, again, name, entries)
			if told := again.Notices(); len(told) > 0 && len(notices) > 0 {
				t.Errorf("%s: told again: %q", name, told)
			}
			again.Close()
		}
	}
	t.Logf("%d pages, damage noticed %d times; then %d sittings whole and %d in part", len(good)/size, noticed, whole, part)
	if noticed == 0 || whole == 0 {
		t.Error("nothing was damaged, or nothing saved")
	}
}

// keepWhole stores a sitting whose log has an end, and a key with each entry.
func keepWhole(t *testing.T, s *Store, trainee string, entries int) {
	t.Helper()
	sitting := example()
	sitting.Trainee, sitting.Documents = trainee, []byte(`{"for":"`+trainee+`"}`)
	sitting.Plan = HashOf(sitting.Documents)
	w, err := s.Begin(sitting)
	if err != nil {
		t.Fatal(err)
	}
	for i := range entries - 1 {
		w.Append(entry(i + 1))
		w.Input(time.Duration(i), []byte(`{"press":"<"}`))
	}
	w.Append(logbook.Entry{Seq: entries, At: time.Hour, Kind: logbook.End, Why: logbook.Complete, OK: true})
	if err := w.End([]byte(judged), true, judgedDigest()); err != nil {
		t.Fatal(err)
	}
}

// usable reads all that there is and counts it by its state.
func usable(t *testing.T, s *Store, name string, entries int) map[State]int {
	t.Helper()
	found := map[State]int{}
	list, err := s.Sittings(Filter{})
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for _, one := range list {
		if _, err := s.Log(one.ID); err != nil {
			t.Fatalf("%s: sitting %d: %v", name, one.ID, err)
		}
		if _, err := s.Inputs(one.ID); err != nil {
			t.Fatalf("%s: sitting %d: %v", name, one.ID, err)
		}
		if _, err := s.Documents(one.Plan); err != nil {
			t.Fatalf("%s: sitting %d: %v", name, one.ID, err)
		}
	}
	if _, err := s.Summaries(Filter{}); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if _, err := s.Injections(Filter{}); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if list, err = s.Sittings(Filter{}); err != nil { // those that are there after the damage was met
		t.Fatalf("%s: %v", name, err)
	}
	for _, one := range list {
		log, err := s.Log(one.ID)
		if err != nil {
			t.Fatalf("%s: sitting %d: %v", name, one.ID, err)
		}
		for i, e := range log {
			if e.Kind != logbook.End && e != entry(i+1) {
				t.Errorf("%s: sitting %d has invented %+v", name, one.ID, e)
			}
		}
		if one.State == Complete && one.Trainee != "Trainee Z" && len(log) != entries {
			t.Errorf("%s: sitting %d is complete with %d entries", name, one.ID, len(log))
		}
		found[one.State]++
	}
	return found
}

// Damage that cannot be put right now, since another has the records open, is put right by the next who opens them alone.
func TestDamageWhileOpenElsewhere(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	for i := range 5 {
		keep(t, s, fmt.Sprintf("Trainee %c", 'A'+i), judged, 60)
	}
	s.Close()
	other := open(t, path)
	body, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	crand.Read(body[4096:])
	if err := os.WriteFile(path, body, 0o600); err != nil {
		t.Fatal(err)
	}
	if s, err := Open(path); err == nil {
		if _, err = s.Sittings(Filter{}); err == nil {
			t.Error("the damage was not met")
		} else if !strings.Contains(err.Error(), "another program has them open: end it") {
			t.Error(err)
		}
		s.Close()
	} else if !strings.Contains(err.Error(), "another program has them open: end it") {
		t.Error(err)
	}
	other.Close()
	s = open(t, path)
	if notices := s.Notices(); len(notices) != 1 || !strings.Contains(notices[0], "were damaged") {
		t.Errorf("notices %q", notices)
	}
	keep(t, s, "kim", judged, 2)
}

// The folder and the files are the user's alone, also where they were there before and open to others.
func TestRecordsAreReadByNobodyElse(t *testing.T) {
	path := fresh(t)
	folder := filepath.Dir(path)
	if err := os.MkdirAll(filepath.Join(folder, "unsaved"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{path + ".damaged-20260402-093000-1", filepath.Join(folder, "unsaved", "a.jsonl.torn")} {
		if err := os.WriteFile(name, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	// A link to what is elsewhere is nobody's records: that stays as it is.
	elsewhere := filepath.Join(t.TempDir(), "elsewhere")
	if err := os.WriteFile(elsewhere, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	link := path + ".link"
	if err := os.Symlink(elsewhere, link); err != nil {
		t.Fatal(err)
	}
	os.Chmod(folder, 0o755)
	s := open(t, path)
	if info, err := os.Stat(elsewhere); err != nil || info.Mode().Perm() != 0o644 {
		t.Errorf("what a link leads to is %v, %v", info, err)
	}
	if err := os.Remove(link); err != nil {
		t.Fatal(err)
	}
	w := begin(t, s)
	w.Append(entry(1))
	seen := 0
	err := filepath.WalkDir(folder, func(name string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		want := os.FileMode(0o600)
		if d.IsDir() {
			want = 0o700
		}
		if seen++; err != nil || info.Mode().Perm() != want {
			t.Errorf("%s is %v, wanted %v; %v", name, info.Mode().Perm(), want, err)
		}
		return nil
	})
	if err != nil || seen < 8 {
		t.Errorf("%d files, %v", seen, err)
	}
	if notices := s.Notices(); len(notices) > 0 {
		t.Errorf("notices %q", notices)
	}
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}

	home := filepath.Join(t.TempDir(), "home")
	if err := os.MkdirAll(home, 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("HOME", home)
	s = open(t, filepath.Join(home, "hornlark.db"))
	info, err := os.Stat(home)
	if err != nil || info.Mode().Perm() != 0o755 || len(s.Notices()) != 1 || !strings.Contains(s.Notices()[0], "others have access to "+home) {
		t.Errorf("%v, %v, %q", info.Mode(), err, s.Notices())
	}
}
