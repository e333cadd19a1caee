package form

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

type book struct {
	Words map[string]string    `yaml:"words"`
	Units map[string][2]string `yaml:"units"`
	Notes []struct {
		At int `yaml:"at"`
	} `yaml:"notes"`
	Point string `yaml:"point"`
}

func many(n int, each string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, each, i)
	}
	return b.String()
}

// Files of a megabyte of whatever shape are refused in well under a second, with no more lines than anybody reads.
func TestHostileShapes(t *testing.T) {
	deep := strings.Repeat("[", 9000)
	for name, text := range map[string]string{
		"unknown fields":          many(70_000, "key%d: x\n"),
		"words without end":       "words:\n" + many(70_000, "  w%d: x\n"),
		"the same field for ever": many(70_000, "point: x%d\n"),
		"the same word for ever":  "words:\n" + many(5000, "  w: x%d\n"),
		"a list without end":      "notes: [" + many(70_000, "{at: %d},") + "]",
		"unknown in a list":       "notes:\n" + many(5000, " - {no%d: 1}\n"),
		"deep":                    "words: " + deep,
		"deep and closed":         "words: " + deep + strings.Repeat("]", 9000),
		"aliases":                 "a: &a [x]\nwords: {a: *a}\nunits: {<<: *a}\n",
		"laughs":                  "words: &a {a: x}\nunits: {a: [*a, *a], b: [*a, *a]}\n",
		"no name":                 "? [a]\n: x\n",
		"a list for a group":      "[a, b]",
	} {
		began := time.Now()
		err := Decode([]byte(text), new(book))
		if took := time.Since(began); took > 900*time.Millisecond {
			t.Errorf("%s: it took %v", name, took)
		}
		if err == nil {
			t.Errorf("%s was taken", name)
		} else if lines := strings.Count(err.Error(), "\n"); lines > MaxFaults {
			t.Errorf("%s: %d lines are told", name, lines)
		}
	}
}

func TestDecode(t *testing.T) {
	var b book
	if err := Decode([]byte("words: {NR: N R, 1: one}\nunits: {ft: [foot, feet]}\nnotes: [{at: 3}]\n"), &b); err != nil {
		t.Fatal(err)
	}
	if b.Words["NR"] != "N R" || b.Words["1"] != "one" || b.Units["ft"] != [2]string{"foot", "feet"} || b.Notes[0].At != 3 {
		t.Errorf("%+v", b)
	}
	for _, nothing := range []string{"", "# nothing\n", "---\n", "~"} {
		if err := Decode([]byte(nothing), &b); err != nil || b.Words["NR"] != "N R" {
			t.Errorf("%q: %v", nothing, err)
		}
	}
	err := Decode([]byte("words: {a: b}\nwrods: {}\npoint: x\npoint: y\n"), &b)
	want := "line 2, column 1: there is no field \"wrods\"; write notes, point, units or words\nline 4, column 1: \"point\" is there already, in line 3"
	if err == nil || err.Error() != want {
		t.Errorf("%v\nwanted %s", err, want)
	}
}

// Nothing that is read as a file makes it panic, or takes long.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{"words: {a: b}", "units: {ft: [a, b]}", "notes: [{at: 1}]", "a: &a [*a]", "? {x: y}\n: z", "point: !!binary x", "\ufeffwords:", "%YAML 9\n---"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := Decode(data, new(book)); err != nil && err.Error() == "" {
			t.Error("an error without words")
		}
	})
}
