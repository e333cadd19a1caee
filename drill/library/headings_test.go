package library

import (
	"testing"
)

// What is found at a glance is what the documents say once they are read, every one of them.
func TestHeadings(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	want := map[Heading]bool{}
	for _, d := range lib.Profiles() {
		want[Heading{Profile, d.Name, d.Title}] = true
	}
	for _, d := range lib.Procedures() {
		want[Heading{Procedure, d.Name, d.Title}] = true
	}
	for _, d := range lib.Scenarios() {
		want[Heading{Scenario, d.Name, d.Title}] = true
	}
	for _, d := range lib.Abnormals() {
		want[Heading{Abnormal, d.Name, d.Title}] = true
	}
	have := BuiltinHeadings()
	for _, h := range have {
		if !want[h] {
			t.Errorf("%+v is in no document", h)
		}
	}
	if len(have) != len(want) {
		t.Errorf("%d were found, want %d", len(have), len(want))
	}
	for text, want := range map[string]Heading{
		"phases: [a]\nname: x\ntitle: \"A: b\"\nprocedure: p\n":   {Scenario, "x", "A: b"},
		"name: x\r\ntitle: y\r\nphases:\r\n  - name: z\r\n":       {Procedure, "x", "y"},
		"# name: z\nname: 'x' # short\ncues: [a]\n  title: inner": {Abnormal, "x", ""},
		"name: x\ntitle: \"\\x1b[2J\"\ncontrols: []\n":            {Profile, "x", ""},
		"name: [x]\nphases: []\n":                                 {},
		"title: x\nphases: []\n":                                  {},
		"name: x\n":                                               {},
	} {
		got, ok := headingOf(text)
		if ok != (want != Heading{}) || ok && got != want {
			t.Errorf("%q: %+v, %v; want %+v", text, got, ok, want)
		}
	}
}
