package library

import (
	"reflect"
	"testing"
)

// Everything that is built in reads back as it was, once it has been written.
func TestWrittenReadsBack(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, p := range lib.Profiles() {
		readsBack(t, p.Name, p, &tried)
	}
	for _, p := range lib.Procedures() {
		readsBack(t, p.Name, p, &tried)
	}
	for _, s := range lib.Scenarios() {
		readsBack(t, s.Name, s, &tried)
	}
	for _, a := range lib.Abnormals() {
		readsBack(t, a.Name, a, &tried)
	}
	if tried < 100 {
		t.Errorf("%d documents were tried", tried)
	}
	m := &Manifest{Name: "yes", Title: "12: a title # no comment", About: "two\nlines", By: "- nobody", Version: "1.0", Scenarios: []string{"null", "on"}}
	if got, problems := ReadManifest(File{"course.yaml", Written(m)}); len(problems) > 0 || !reflect.DeepEqual(got, m) {
		t.Errorf("%+v: %v", got, problems)
	}
}

// readsBack writes a document and reads that.
func readsBack[T any](t *testing.T, name string, doc *T, tried *int) {
	t.Helper()
	*tried++
	text := Written(doc)
	d, problems := parse(name, text)
	if len(problems) == 0 {
		got := new(T)
		if problems = d.decode(got); len(problems) == 0 {
			// By the bytes that are kept with a sitting: what was made ready while it was read differs.
			if a, b := string(pack(doc)), string(pack(got)); a != b {
				t.Errorf("%s: it was\n%s\nand reads back as\n%s", name, a, b)
			}
			return
		}
	}
	t.Errorf("%s: %v\n%s", name, problems, text)
}
