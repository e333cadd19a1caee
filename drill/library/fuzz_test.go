package library

import (
	"maps"
	"testing"
)

// fuzzed are documents that are short enough to be changed many times a second, and one of each kind.
func fuzzed(f *testing.F) [][]byte {
	files, problems := readAll([]string{"../testdata/desk"})
	if len(problems) > 0 {
		f.Fatal(problems)
	}
	var all [][]byte
	for _, file := range files {
		all = append(all, file.data)
	}
	all = append(all, []byte("start_from: perfect\nanswers:\n  - {item: doors, after: 900ms, press: [n]}\nswap: [[a, b]]\nignore: [hot-start]\n"))
	all = append(all, []byte("passes_in_a_row: 3\ndays_apart: 2\nwithin_days: 14\nrecall: 0.85\ndetection: 6s\nparts: [dunlin-start, limits]\n"))
	for _, name := range []string{"abnormals/hot-start.yaml", "scenarios/cold-morning.yaml", "procedures/hover-watch.yaml"} {
		data, err := builtin.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		all = append(all, data)
	}
	return all
}

// readAndCheck does with a file what the program does, but for flying profiles.
func readAndCheck(t *testing.T, lib *Library, data []byte) {
	own := &Library{profiles: maps.Clone(lib.profiles), procedures: maps.Clone(lib.procedures), scenarios: maps.Clone(lib.scenarios), abnormals: maps.Clone(lib.abnormals)}
	list, problems := own.add([]file{{name: "x.yaml", data: data}}, true)
	wellSaid(t, problems.Grouped())
	for _, a := range list {
		if a.check != nil && (a.kind != Profile || len(problems) > 0) {
			wellSaid(t, a.check(own).Grouped())
		}
	}
}

// wellSaid looks whether problems say what is wrong, and where.
func wellSaid(t *testing.T, problems Problems) {
	for _, p := range problems {
		if p.Problem == "" || p.Line < 0 || p.Line > 0 && p.Column < 1 {
			t.Errorf("%+v", p)
		}
	}
	if len(problems) > 10*MaxProblems {
		t.Errorf("%d problems are told", len(problems))
	}
}

// FuzzDocument: whatever stands in a file, it is taken, or what is wrong is said with its place.
func FuzzDocument(f *testing.F) {
	lib, err := Builtin()
	if err != nil {
		f.Fatal(err)
	}
	for _, data := range fuzzed(f) {
		f.Add(data)
	}
	for _, seed := range []string{"", "- a", "scenario: x", "a: &a [*a]", "? {x: y}\n: z", "%YAML 9\n---", "!!binary x", "profile: x\ncontrols: [{id: a}]", "{", "\t", "a: |9\n b", "--- a\n--- b"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) { readAndCheck(t, lib, data) })
}

// FuzzChangedDocument cuts a piece out of a document that is right, and puts something else there.
func FuzzChangedDocument(f *testing.F) {
	lib, err := Builtin()
	if err != nil {
		f.Fatal(err)
	}
	documents := fuzzed(f)
	for i, piece := range []string{"", "-1", "1e309", ".nan", "99999999999999999999", "[]", "{}", "null", "*a", "24h1ns", "nr < ", "\"\\u0000\"", "00 ft"} {
		f.Add(uint8(i), uint16(40*i), uint8(i), piece)
	}
	f.Fuzz(func(t *testing.T, which uint8, at uint16, cut uint8, piece string) {
		data := documents[int(which)%len(documents)]
		from := int(at) % (len(data) + 1)
		to := min(len(data), from+int(cut))
		readAndCheck(t, lib, []byte(string(data[:from])+piece+string(data[to:])))
	})
}
