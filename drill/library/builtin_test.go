package library

import (
	"slices"
	"strings"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

func everything(t *testing.T) *Library {
	t.Helper()
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return lib
}

func TestBuiltInIsSound(t *testing.T) {
	if err := everything(t).CheckAll(); err != nil {
		t.Error(err)
	}
}

// There is a twin with FADEC, a single whose start is metered by hand, and a piston engine; each says that it never existed.
func TestProfilesByKind(t *testing.T) {
	kinds := map[string]int{}
	for _, p := range everything(t).Profiles() {
		s := &p.Systems
		switch {
		case s.Piston != nil:
			kinds["piston"]++
		case s.FADEC != nil && len(s.Engines) == 2:
			kinds["twin"]++
		case s.Metering != nil && len(s.Engines) == 1:
			kinds["by hand"]++
		}
		if !strings.Contains(p.About, "fictional") || !strings.Contains(p.About, "No real aircraft") {
			t.Errorf("%s does not say that it is fictional", p.Name)
		}
		for _, state := range []string{"running", "hover"} {
			if !slices.ContainsFunc(p.States, func(s aircraft.State) bool { return s.Name == state }) {
				t.Errorf("%s has no state %s", p.Name, state)
			}
		}
	}
	for _, kind := range []string{"twin", "by hand", "piston"} {
		if kinds[kind] == 0 {
			t.Errorf("no profile of the kind %s", kind)
		}
	}
}

// At most four signals are to be told apart by ear alone: MIL-STD-1472E 5.3.4.3.3, seen as a copy. The twin has six, and no
// more.
func TestFourSoundsAtMost(t *testing.T) {
	for _, p := range everything(t).Profiles() {
		tones := map[string]bool{}
		for _, a := range p.Alerts {
			tones[a.Tone] = true
		}
		if most := map[string]int{"dunlin-lt": 6}[p.Name]; len(tones) > max(most, 4) {
			t.Errorf("%s has %d tones", p.Name, len(tones))
		}
	}
}

// A key moves one control, whatever the layout: keys are places, and every place is taken once.
func TestKeysAreTakenOnce(t *testing.T) {
	for _, p := range everything(t).Profiles() {
		taken := map[string]string{}
		for i := range p.Controls {
			c := &p.Controls[i]
			if other, ok := taken[c.Key]; ok || c.Zone() == "" {
				t.Errorf("%s: key %q of %s, taken by %q", p.Name, c.Key, c.ID, other)
			}
			taken[c.Key] = c.ID
		}
		if c, ok := p.ControlIndex("collective"); !ok || p.Controls[c].Zone() != aircraft.Hands {
			t.Errorf("%s: the collective is not where the hands are", p.Name)
		}
	}
}

// Every profile has a first flow, from cold to the ground again, that meets it in the hover; scenarios of every sort; and
// abnormals and look-alikes, each with the words that the flight manual decides.
func TestEveryProfileCanBeRehearsed(t *testing.T) {
	lib := everything(t)
	of := map[string]string{}
	flows, abnormals, harmless := map[string]int{}, map[string]int{}, map[string]int{}
	policies := map[string]map[scenario.PolicyName]bool{}
	for _, p := range lib.Procedures() {
		of[p.Name] = p.Profile
		flows[p.Profile] = max(flows[p.Profile], p.Count())
		p.Each(func(_ *procedure.Phase, it *procedure.Item) {
			// Degani and Wiener 1990, NASA CR-177549: the response is the status or the value, never just "checked".
			if r := strings.ToLower(it.Response); r == "checked" || r == "set" || r == "" {
				t.Errorf("%s, %s answers %q", p.Name, it.ID, it.Response)
			}
		})
	}
	for _, a := range lib.Abnormals() {
		if a.Harmless {
			harmless[a.Profile]++
		} else {
			abnormals[a.Profile]++
		}
		if !strings.Contains(a.About, "The flight manual of the real aircraft decides.") {
			t.Errorf("%s does not say that the flight manual decides", a.Name)
		}
	}
	for _, s := range lib.Scenarios() {
		profile := of[s.Procedure]
		if policies[profile] == nil {
			policies[profile] = map[scenario.PolicyName]bool{}
		}
		policies[profile][s.Policy] = true
	}
	for _, p := range lib.Profiles() {
		if flows[p.Name] < 25 || abnormals[p.Name] < 5 || harmless[p.Name] < 2 {
			t.Errorf("%s: a flow of %d items, %d abnormals, %d look-alikes", p.Name, flows[p.Name], abnormals[p.Name], harmless[p.Name])
		}
		for _, policy := range []scenario.PolicyName{scenario.Prompted, scenario.Recall, scenario.Alerts, scenario.Limits} {
			if !policies[p.Name][policy] {
				t.Errorf("%s: no scenario of policy %s", p.Name, policy)
			}
		}
	}
}

// Every abnormal of the library is in a scenario, or in a drawn one: none is there for nobody.
func TestEveryAbnormalIsMet(t *testing.T) {
	lib := everything(t)
	met := map[string]bool{}
	for _, s := range lib.Scenarios() {
		for _, name := range s.Abnormals() {
			met[name] = true
		}
	}
	for _, a := range lib.Abnormals() {
		if !met[a.Name] {
			t.Errorf("%s is in no scenario", a.Name)
		}
	}
}
