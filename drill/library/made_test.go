package library_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// Every built-in scenario, taken as one that a program has made, comes back as it is, with the same documents in its pack; one that
// is changed for the worse is refused as its file would be.
func TestBundleOfWhatAProgramMakes(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range lib.Scenarios() {
		read, err := lib.Resolve(s.Name)
		if err != nil {
			t.Fatal(err)
		}
		made, err := lib.Bundle(s)
		if err != nil {
			t.Errorf("%s: %v", s.Name, err)
			continue
		}
		if !reflect.DeepEqual(read.Scenario, made.Scenario) || string(read.Pack()) != string(made.Pack()) {
			t.Errorf("%s: what a program makes of it is not what was read", s.Name)
		}
	}
	s, err := lib.Scenario("first-start")
	if err != nil {
		t.Fatal(err)
	}
	for _, wrong := range []struct {
		change func(*scenario.Scenario)
		says   string
	}{
		{func(s *scenario.Scenario) { s.Phases = []string{"start-1", "start-2"} }, `phase start-2 does not come right after start-1`},
		{func(s *scenario.Scenario) { s.Phases = []string{"start-3"} }, `there is no phase "start-3"`},
		{func(s *scenario.Scenario) { s.Procedure = "first" }, `there is no procedure "first"`},
		{func(s *scenario.Scenario) { s.Weather.OAT = 99 }, "out of range"},
		{func(s *scenario.Scenario) { s.Name = "" }, "name"},
		{func(s *scenario.Scenario) {
			s.Injections = []scenario.Injection{{Abnormal: "no-such", During: "battery"}}
		}, `there is no abnormal "no-such"`},
	} {
		changed := *s
		changed.Injections = slices.Clone(s.Injections)
		wrong.change(&changed)
		if _, err := lib.Bundle(&changed); err == nil || !strings.Contains(err.Error(), wrong.says) {
			t.Errorf("the error is %v, and should say %q", err, wrong.says)
		}
	}
}
