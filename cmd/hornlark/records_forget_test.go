package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/record"
)

// Of a trainee who is forgotten nothing is left in any byte of the folders for data and settings: neither the name, in any form in which it is
// written, nor what tells their sittings from others. Everything about somebody else is as it was.
func TestNothingIsLeftOfWhoIsForgotten(t *testing.T) {
	sounds := settled(t)
	data, config := t.TempDir(), filepath.Dir(sounds)
	t.Setenv("HORNLARK_DATA", data)
	t.Setenv(clockVariable, "2027-03-05T19:00:00Z")
	const name, other = "Žofie <N> & Unmistakable", "lee"
	told := func(args ...string) string {
		t.Helper()
		var out, problems strings.Builder
		if status := run(t.Context(), args, streams{in: strings.NewReader(""), out: &out, err: &problems}); status != exitPassed {
			t.Fatalf("%q: exit status %d\n%s%s", args, status, &out, &problems)
		}
		return out.String()
	}
	began := time.Date(2027, 3, 1, 19, 0, 0, 0, time.UTC)
	for i, of := range []string{name, other, name, other} {
		for _, scenario := range []string{"limits", "hover-alerts"} {
			if err := (&made{data: data, scenario: scenario, trainee: of, started: began.AddDate(0, 0, i)}).keep(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := (&made{data: data, scenario: "limits", trainee: name, started: began.AddDate(0, 0, 2), killed: 20}).keep(); err != nil {
		t.Fatal(err)
	}
	for _, of := range []string{other, name} {
		told("trainee", of)
		told("tonight", "--show", "--trainee", of) // draws what the sittings showed, and keeps what is known
		told("plan", "--by", "2027-03-12", "--minutes", "25", "--rest", "sun", "--trainee", of)
	}
	if is, err := aimOf(name); err != nil || is.By != "2027-03-12" || is.Minutes != 25 || !slices.Equal(is.Rest, []string{"sun"}) {
		t.Fatalf("kept is %+v, %v", is, err)
	}
	quoted, err := json.Marshal(name)
	if err != nil {
		t.Fatal(err)
	}
	left := []string{
		filepath.Join(config, ".hornlark-0123456789abcdef.part"), // of a program that was killed as it wrote
		filepath.Join(data, "unsaved", "a.jsonl.torn"), filepath.Join(data, "hornlark.db.damaged-20270301-093000"),
	}
	others := []string{
		filepath.Join(config, ".hornlark-0123456789abcdee.part"),
		filepath.Join(data, "unsaved", "b.jsonl.torn"), filepath.Join(data, "hornlark.db.damaged-20270301-093001"),
	}
	for i, text := range []string{`{"trainee": ` + string(quoted), `{"uid":"A","sitting":{"trainee":"` + name + "\"}}\n", "\x00" + name + "\x00"} { // each as it is written there
		if err := errors.Join(os.MkdirAll(filepath.Dir(left[i]), 0o700), os.WriteFile(left[i], []byte(text), 0o600),
			os.WriteFile(others[i], []byte(strings.NewReplacer(string(quoted), `"lee"`, name, other).Replace(text)), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	store, err := record.Open(filepath.Join(data, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	theirs, err := store.Sittings(record.Filter{Trainee: name})
	if err != nil || len(theirs) != 5 {
		t.Fatalf("%d sittings, %v; want 5", len(theirs), err)
	}
	known, err := store.Known(name)
	if err := errors.Join(err, store.Close()); err != nil || len(known) == 0 {
		t.Fatalf("%d bytes are kept of what is known, %v", len(known), err)
	}
	secrets := [][]byte{[]byte(name), bytes.Trim(quoted, `"`), []byte("Unmistakable"), known[:min(len(known), 200)]}
	for i := range theirs {
		secrets = append(secrets, []byte(theirs[i].UID))
	}
	if found := filesWith(t, secrets, data, config); len(found) < 5 { // the records, who sits here, the day, and what was left
		t.Fatalf("before, it is found in %q only", found)
	}
	about := func() []string {
		return []string{
			told("export", "--trainee", other), told("progress", "--trainee", other),
			told("tonight", "--show", "--json", "--trainee", other), told("plan", "--json", "--trainee", other),
		}
	}
	before := about()
	snapshot := knownBytes(t, data, other)

	out := told("forget", name, "--yes")
	for _, file := range append(left, filepath.Join(config, "trainee.json"), filepath.Join(config, "aims.json")) {
		if !strings.Contains(out, file) {
			t.Errorf("it is not said that something is in %s:\n%s", file, out)
		}
	}
	for _, file := range filesWith(t, secrets, data, config) {
		t.Errorf("%s still has something of it", file)
	}
	if !slices.Equal(about(), before) || !bytes.Equal(knownBytes(t, data, other), snapshot) {
		t.Errorf("what is kept of %s is not as it was", other)
	}
	for _, file := range others {
		if _, err := os.Stat(file); err != nil {
			t.Error(err)
		}
	}
	var problems strings.Builder
	if status := run(t.Context(), []string{"forget", name, "--yes"}, streams{in: strings.NewReader(""), out: &problems, err: &problems}); status != exitOther || !strings.Contains(problems.String(), "no records of") {
		t.Errorf("once more: exit status %d\n%s", status, &problems)
	}

	// Who has settings alone is forgotten too, and so is whose settings cannot be read.
	told("trainee", name)
	if err := keepAim(aim{Trainee: name, Minutes: 30}); err != nil {
		t.Fatal(err)
	}
	told("forget", name, "--yes")
	for _, file := range []string{"trainee.json", "aims.json"} {
		if err := os.WriteFile(filepath.Join(config, file), slices.Concat([]byte(`{"x": `), quoted), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	told("forget", name, "--yes")
	if found := filesWith(t, secrets, data, config); len(found) > 0 {
		t.Errorf("it is still in %q", found)
	}
}

// knownBytes is what is kept of what a trainee knows.
func knownBytes(t *testing.T, data, trainee string) []byte {
	t.Helper()
	store, err := record.Open(filepath.Join(data, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	body, err := store.Known(trainee)
	if err != nil || len(body) == 0 {
		t.Fatalf("%d bytes, %v", len(body), err)
	}
	return body
}

// filesWith gives the files in some folders that have any of some texts in them, in their bytes or their names.
func filesWith(t *testing.T, texts [][]byte, folders ...string) (found []string) {
	t.Helper()
	for _, folder := range folders {
		err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() {
				return err
			}
			body, err := os.ReadFile(path)
			if slices.ContainsFunc(texts, func(text []byte) bool { return bytes.Contains(body, text) || strings.Contains(path, string(text)) }) {
				found = append(found, path)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return found
}

// What trainees practise towards is kept for each, and what cannot be read there is told of and changes nothing.
func TestAims(t *testing.T) {
	settled(t)
	for _, a := range []aim{{Trainee: "kim", By: "2027-03-12", Minutes: 20, Rest: []string{"sat", "sun"}}, {Trainee: "lee", Minutes: 5}, {By: "2027-03-12"}, {Trainee: "ann"}} {
		if err := keepAim(a); err != nil {
			t.Fatal(err)
		}
	}
	all, err := loadAims()
	if err != nil || len(all.Aims) != 2 || all.Aims[0].Trainee != "lee" {
		t.Fatalf("%+v, %v", all, err)
	}
	if a, err := aimOf("kim"); err != nil || a.By != "2027-03-12" || len(a.Rest) != 2 {
		t.Errorf("%+v, %v", a, err)
	}
	if a, err := aimOf(""); err != nil || a.By != "" {
		t.Errorf("nobody's: %+v, %v", a, err)
	}
	path, err := aimsPath()
	if err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Error(info, err)
	}
	if err := errors.Join(keepAim(aim{Trainee: "kim"}), keepAim(aim{Trainee: "lee"})); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("nobody has an aim, and the file is still there: %v", err)
	}
	for _, text := range []string{"", "{", `{"aims": [{"trainee": "=kim"}]}`, `{"aims": [{"trainee": "kim", "by": "Friday"}]}`, `{"aims": [{"trainee": "kim", "minutes": 1000}]}`, `{"aims": [{"trainee": "kim", "rest": ["May"]}]}`, `{"days": 1}`} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if a, err := aimOf("kim"); err == nil || a.By != "" || !strings.Contains(err.Error(), path) {
			t.Errorf("%q: %+v, %v", text, a, err)
		}
		if err := keepAim(aim{Trainee: "kim", By: "2027-03-12"}); err == nil {
			t.Errorf("%q is written over", text)
		}
	}
}
