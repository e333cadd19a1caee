package draft

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"hornlark/drill/library"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// passes holds a document to the check of the program.
func passes(t *testing.T, lib *library.Library, path, document string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(document), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range lib.Check(path) {
		if len(c.Problems) > 0 {
			t.Errorf("%v\n%s", c.Problems, document)
		}
	}
}

// optional finds the fields that stand in comments.
var optional = regexp.MustCompile(`(?m)^# ([a-z_]+: )`)

// eachCounts takes the sign away from each of the fields in comments, one by one.
func eachCounts(t *testing.T, lib *library.Library, path, document string) int {
	t.Helper()
	found := optional.FindAllStringIndex(document, -1)
	for _, at := range found {
		passes(t, lib, path, document[:at[0]]+document[at[0]+2:])
	}
	return len(found)
}

// Every scenario to begin with passes the check, whatever it was asked for with, and so does each of the fields in its comments.
func TestScenariosToBeginWith(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "scenario.yaml")
	documents, fields := 0, 0
	for _, proc := range lib.Procedures() {
		prof, err := lib.Profile(proc.Profile)
		if err != nil {
			t.Fatal(err)
		}
		var abnormals []string
		for _, a := range lib.Abnormals() {
			if a.Profile == prof.Name && len(abnormals) < scenario.MaxInjections {
				abnormals = append(abnormals, a.Name)
			}
		}
		states := []string{""}
		for i := range prof.States {
			states = append(states, prof.States[i].Name)
		}
		item := ""
		proc.Each(func(_ *procedure.Phase, it *procedure.Item) { item = it.ID })
		for _, policy := range scenario.Policies() {
			sets := [][]string{nil, abnormals[:1], abnormals, {abnormals[0] + "@" + item, abnormals[1], abnormals[1]}}
			switch policy.Flow {
			case scenario.Figures:
				sets = sets[:1]
			case scenario.Nothing:
				sets = sets[1:3]
			}
			for _, set := range sets {
				for _, state := range states {
					for _, help := range []scenario.Help{"", scenario.Names, scenario.Bare, scenario.None} {
						document := Scenario(proc, prof, ScenarioOptions{Policy: policy.Name, Map: help, State: state, Abnormals: set})
						passes(t, lib, path, document)
						documents++
						if help == "" && len(set) < 2 {
							fields += eachCounts(t, lib, path, document)
						}
					}
				}
			}
		}
	}
	t.Logf("%d documents, %d fields out of comments", documents, fields)
	if documents < 500 || fields < 200 {
		t.Errorf("only %d documents and %d fields", documents, fields)
	}
}

// Every failure point of every aircraft makes an abnormal that passes the check, and so does each of the fields in its comments.
func TestAbnormalsToBeginWith(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "abnormal.yaml")
	documents, shown, fields := 0, 0, 0
	for _, prof := range lib.Profiles() {
		starts, err := startsOf(prof)
		if err != nil {
			t.Fatal(err)
		}
		for i, point := range prof.FailurePoints() {
			document, err := abnormal(prof, starts, AbnormalOptions{Failure: point.Name, Harmless: i%7 == 0})
			if err != nil {
				t.Fatal(err)
			}
			passes(t, lib, path, document)
			documents++
			if strings.Contains(document, "What began to show") {
				shown++
			}
			if i%5 == 0 {
				fields += eachCounts(t, lib, path, document)
			}
		}
	}
	t.Logf("%d documents, %d of them with what shows the failure, %d fields out of comments", documents, shown, fields)
	if documents < 150 || shown < documents/2 {
		t.Errorf("only %d of %d failures show", shown, documents)
	}
	if _, err := Abnormal(lib.Profiles()[0], AbnormalOptions{Failure: "wing.flutter"}); err == nil {
		t.Error("a failure point that there is not is taken")
	}
}
