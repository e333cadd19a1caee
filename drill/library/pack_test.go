package library

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"
)

// Every built-in scenario comes out of its package as it went in.
func TestPackedAndUnpacked(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range lib.Scenarios() {
		b, err := lib.Resolve(s.Name)
		if err != nil {
			t.Fatal(err)
		}
		body := b.Pack()
		back, err := Unpack(body)
		if err != nil {
			t.Fatalf("%s: %v", s.Name, err)
		}
		flown := *b.Profile
		flown.Expected = nil // a data sheet is not packed
		for _, pair := range [][2]any{{&flown, back.Profile}, {b.Procedure, back.Procedure}, {b.Scenario, back.Scenario}, {b.Abnormals, back.Abnormals}} {
			x, err := json.Marshal(pair[0])
			if err != nil {
				t.Fatal(err)
			}
			y, err := json.Marshal(pair[1])
			if err != nil {
				t.Fatal(err)
			}
			// An empty list and none are the same in a document.
			if empty := strings.NewReplacer(":[]", ":null", ":{}", ":null"); empty.Replace(string(x)) != empty.Replace(string(y)) {
				t.Errorf("%s: %T is not what it was:\n%s\n%s", s.Name, pair[0], x, y)
			}
		}
		if !bytes.Equal(body, back.Pack()) {
			t.Errorf("%s: packed again it is not the same", s.Name)
		}
	}
}

func TestUnpackSaysWhatIsWrong(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	b, err := lib.Resolve("first-start")
	if err != nil {
		t.Fatal(err)
	}
	body := string(b.Pack())
	for _, c := range []struct{ from, to, want string }{
		{`"policy":"prompted"`, `"policy":"promted"`, "scenario:"},
		{`"procedure":"dunlin-start"`, `"procedure":"dunlin-stop"`, "no procedure"},
		{`{"profile":`, `{"prof":`, "unknown field"},
		{body, `{}`, "the file is empty"},
		{body, `[]`, "cannot be read"},
		{body, ``, "cannot be read"},
	} {
		changed := strings.Replace(body, c.from, c.to, 1)
		if changed == body {
			t.Errorf("%s is not in the package", c.from)
		}
		if _, err := Unpack([]byte(changed)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%.40s: %v; wanted %q", c.to, err, c.want)
		}
	}
}

func FuzzUnpack(f *testing.F) {
	lib, err := Builtin()
	if err != nil {
		f.Fatal(err)
	}
	b, err := lib.Resolve("limits")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b.Pack())
	f.Fuzz(func(t *testing.T, body []byte) {
		if b, err := Unpack(body); (b == nil) == (err == nil) {
			t.Error(b, err)
		}
	})
}

// Whose aircraft it was is kept with a sitting; documents that were kept before that was noted are told by their name.
func TestWhoseAircraftIsKept(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	b, err := lib.Resolve("first-start")
	if err != nil {
		t.Fatal(err)
	}
	built := *b.Profile
	for _, c := range []struct {
		name     string
		own, old bool // old: kept before it was noted
		want     bool
	}{
		{"dunlin-lt", false, false, false}, {"dunlin-lt", true, false, true}, {"skua-x", true, false, true}, {"skua-x", true, true, true}, {"dunlin-lt", false, true, false},
	} {
		p, flow := built, *b.Procedure
		p.Name, p.Own, flow.Profile = c.name, c.own, c.name
		abnormals := slices.Clone(b.Abnormals)
		for i := range abnormals {
			a := *abnormals[i]
			a.Profile = c.name
			abnormals[i] = &a
		}
		body := (&Bundle{Profile: &p, Procedure: &flow, Scenario: b.Scenario, Abnormals: abnormals}).Pack()
		if c.old {
			body = bytes.Replace(body, []byte(`,"own":true`), nil, 1)
		}
		back, err := Unpack(body)
		if err != nil {
			t.Fatal(err)
		}
		if back.Profile.Own != c.want {
			t.Errorf("%+v: own is %v", c, back.Profile.Own)
		}
	}
	if b.Profile.Own {
		t.Error("a built-in profile is taken for a user's")
	}
}
