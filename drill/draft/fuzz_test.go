package draft

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"hornlark/drill/library"
)

// FuzzChecklist: whatever stands in a file, it is refused or becomes a procedure that passes the check, with every line in it.
func FuzzChecklist(f *testing.F) {
	lib, err := library.Builtin()
	if err != nil {
		f.Fatal(err)
	}
	profiles := lib.Profiles()
	formats := Formats()
	files, err := os.ReadDir("testdata")
	if err != nil {
		f.Fatal(err)
	}
	for i, file := range files {
		if file.IsDir() {
			continue
		}
		data, err := os.ReadFile(filepath.Join("testdata", file.Name()))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, uint8(i))
	}
	for i, seed := range []string{"", "A ... SET.", "A: as.set", "a, \"", "=", "- [ ] :", "| a |\n|---|", "\x85", "# \n", "[^1]: x", "Fuel, 1e309", "NR: -5", "K: OK", "Volts . . . 24 - 26", "0 ... 0", "\u2028 ... x"} {
		f.Add([]byte(seed), uint8(i))
	}
	path := filepath.Join(f.TempDir(), "drafted.yaml")
	f.Fuzz(func(t *testing.T, data []byte, which uint8) {
		prof := profiles[int(which)%len(profiles)]
		list, err := Read(data, Format(formats[int(which)/len(profiles)%len(formats)]))
		if err != nil {
			return
		}
		d := Procedure(list, prof, Options{})
		if err := os.WriteFile(path, []byte(d.YAML), 0o600); err != nil {
			t.Fatal(err)
		}
		for _, c := range lib.Check(path) {
			if len(c.Problems) > 0 || c.Name != d.Name {
				t.Fatalf("%s: %v\n%s", c.Name, c.Problems, d.YAML)
			}
		}
		if n := strings.Count(d.YAML, "\n        challenge: "); n != list.Count() || len(d.Unmapped) > n {
			t.Fatalf("%d items of %d lines, %d not mapped\n%s", n, list.Count(), len(d.Unmapped), d.YAML)
		}
	})
}

// FuzzList: whatever stands in a file, in any form, it is refused or read with its lines in order, and made into a procedure of any aircraft. It leaves
// out the check of what is drafted, which takes a hundred times as long, and so gets a hundred times as far.
func FuzzList(f *testing.F) {
	lib, err := library.Builtin()
	if err != nil {
		f.Fatal(err)
	}
	profiles := lib.Profiles()
	files, err := filepath.Glob(filepath.Join("testdata", "*", "*"))
	if err != nil {
		f.Fatal(err)
	}
	for _, file := range files {
		if data, err := os.ReadFile(file); err == nil && !strings.Contains(file, "fuzz") {
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		for i, format := range Formats() {
			list, err := Read(data, Format(format))
			if err != nil {
				continue
			}
			row := 0
			for _, p := range list.Phases {
				for _, l := range p.Lines {
					if l.Row < row {
						t.Fatalf("%s: row %d comes after row %d", format, l.Row, row)
					}
					row = l.Row
				}
			}
			if d := Procedure(list, profiles[i%len(profiles)], Options{}); !utf8.ValidString(d.YAML) || strings.ContainsRune(d.YAML, '\x1b') {
				t.Fatalf("%s: what was drafted holds what acts: %q", format, d.YAML)
			}
		}
	})
}
