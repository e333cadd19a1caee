package library

import (
	"compress/gzip"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// earlierDocuments are those that the last program kept whose logs are of version 1.
func earlierDocuments(t *testing.T) json.RawMessage {
	t.Helper()
	file, err := os.Open("../record/testdata/version-1.json.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	in, err := gzip.NewReader(file)
	if err != nil {
		t.Fatal(err)
	}
	var records struct{ Plans map[string]json.RawMessage }
	if err := json.NewDecoder(in).Decode(&records); err != nil || len(records.Plans) != 1 {
		t.Fatal(len(records.Plans), err)
	}
	for _, body := range records.Plans {
		return body
	}
	return nil
}

// Documents of an earlier program are read as what they said.
func TestEarlierDocuments(t *testing.T) {
	body := earlierDocuments(t)
	if !strings.Contains(string(body), `"mode":"prompted"`) || !strings.Contains(string(body), `"ends":{`) {
		t.Fatal("they are not of that program: the test is too easy")
	}
	b, err := Unpack(body)
	if err != nil {
		t.Fatal(err)
	}
	items := 0
	b.Procedure.Each(func(*procedure.Phase, *procedure.Item) { items++ })
	if b.Scenario.Policy != scenario.Prompted || items < 50 || len(b.Abnormals) == 0 {
		t.Errorf("policy %q, %d items, %d abnormals", b.Scenario.Policy, items, len(b.Abnormals))
	}
	for _, a := range b.Abnormals {
		if len(a.Ends) > 0 {
			t.Errorf("%s has sentences without conditions: %+v", a.Name, a.Ends)
		}
	}
	// Packed again they are documents of today.
	if again, err := Unpack(b.Pack()); err != nil || string(again.Pack()) != string(b.Pack()) {
		t.Errorf("packed again: %v", err)
	}
}

// What no program wrote is refused in them as in any others.
func TestEarlierDocumentsAreChecked(t *testing.T) {
	body := string(earlierDocuments(t))
	for _, c := range []struct{ from, to, want string }{
		{`"mode":"prompted"`, `"mode":"promted"`, "promted"},
		{`"mode":"prompted"`, `"mode":"prompted","moods":1`, "moods"},
		{`"mode":"prompted"`, `"mode":7`, "policy"},
		{`"phases":[{`, `"phases":[7,{`, "a group of fields is wanted"},
	} {
		if !strings.Contains(body, c.from) {
			t.Fatalf("there is no %s", c.from)
		}
		if _, err := Unpack([]byte(strings.Replace(body, c.from, c.to, 1))); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; wanted %q", c.to, err, c.want)
		}
	}
}

// Engines that were aired are motored.
func TestEarlierWordForMotored(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	rewritten := 0
	for _, s := range lib.Scenarios() {
		b, err := lib.Resolve(s.Name)
		if err != nil {
			t.Fatal(err)
		}
		body := string(b.Pack())
		earlier := strings.ReplaceAll(body, `"motored":`, `"aired":`)
		if earlier != body {
			rewritten++
		}
		if back, err := Unpack([]byte(earlier)); err != nil || string(back.Pack()) != body {
			t.Errorf("%s: %v", s.Name, err)
		}
	}
	if rewritten == 0 {
		t.Error("no scenario has anything in it: the test is too easy")
	}
}
