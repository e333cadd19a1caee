package paper_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"hornlark/drill/debrief/paper"
	"hornlark/drill/drilltest"
	"hornlark/drill/drilltest/markup"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// keyTo makes the key to a built-in scenario, of two perfect runs.
func keyTo(t *testing.T, name string) (*paper.Key, *drilltest.Sitting, *drilltest.Sitting) {
	t.Helper()
	perfect := &scenario.Answers{StartFrom: scenario.Perfect}
	run := drilltest.Through(t, name, perfect, nil, nil)
	healthy := drilltest.Through(t, name, perfect, func(s *drilltest.Setup) {
		untouched := *s.Scenario
		untouched.Injections, untouched.Drawn = nil, nil
		s.Scenario = &untouched
	}, nil)
	b, err := library.ResolveBuiltin(name)
	if err != nil {
		t.Fatal(err)
	}
	return &paper.Key{
		Sheet:   paper.Sheet{Size: paper.A5, Edition: "0A1B2C3D", Caution: "Not for flight."},
		Profile: b.Profile, Procedure: run.Exercise.Procedure(run.Seed), Scenario: b.Scenario, Abnormals: b.Abnormals, Policy: run.Exercise.Policy(), Seed: run.Seed,
		Run: run.Log, Healthy: healthy.Log, About: []string{"Cold."}, Pass: []string{"at least 1"}, Command: "hornlark drill " + name,
	}, run, healthy
}

// A key says what comes, when, at which item, what shows it and what is to be done, and has every right answer; on every sheet it says that
// it reveals.
func TestKeys(t *testing.T) {
	for _, name := range []string{"first-start", "cold-morning", "hand-start-early", "watch-start", "hover-alerts", "limits", "first-start-quiet"} {
		key, run, healthy := keyTo(t, name)
		document, source, _ := markup.Written(t, name, key)
		onEverySheet(t, name, document, source, "FOR THE INSTRUCTOR – it reveals what will come", "Edition 0A1B2C3D", "Not for flight.")
		text := markup.Text(document)
		parts := sections(document, "part")
		asked := ""
		came := 0
		for _, e := range run.Log {
			switch e.Kind {
			case logbook.Ask:
				asked = e.Text
			case logbook.Inject:
				came++
				i := slices.IndexFunc(key.Abnormals, func(a *scenario.Abnormal) bool { return a.Name == e.Abnormal })
				a := key.Abnormals[i]
				at := e.At.Round(1e9).Seconds()
				heading := fmt.Sprintf("%d. %s", came, a.Title)
				j := slices.IndexFunc(parts, func(p string) bool { return strings.HasPrefix(strings.TrimSpace(p), heading) })
				if j < 0 {
					t.Errorf("%s: nothing is said of %q", name, heading)
					continue
				}
				wants := []string{fmt.Sprintf("When: %02d:%02d", int(at)/60, int(at)%60), asked, a.About, a.Call}
				for _, action := range a.Actions {
					wants = append(wants, action.Say)
				}
				for _, w := range a.Worse {
					wants = append(wants, w.Say)
				}
				if a.Harmless {
					wants = append(wants, "nothing is to be done")
				}
				for _, want := range wants {
					if !strings.Contains(parts[j], want) {
						t.Errorf("%s: %q is not said of %s:\n%s", name, want, heading, parts[j])
					}
				}
			}
		}
		if came == 0 && !strings.Contains(text, "Nothing is put in") || (came == 0) != (name == "first-start-quiet" || name == "limits") {
			t.Errorf("%s: %d came", name, came)
		}
		rows := itemRows(document)
		n := 0
		answers := map[string]logbook.Entry{}
		for _, e := range healthy.Log {
			if e.Kind == logbook.Answer {
				answers[e.Item] = e
			}
		}
		reads := 0
		if key.Policy.Flow != scenario.Nothing {
			key.Procedure.Each(func(_ *procedure.Phase, it *procedure.Item) {
				row := rows[n]
				n++
				if !strings.Contains(row, it.Challenge) {
					t.Errorf("%s: row %d is %q, want %q", name, n, row, it.Challenge)
				}
				if e, ok := answers[it.ID]; ok && (it.Read != "" || it.Figure != nil) {
					reads++
					if !strings.Contains(row, e.Truth) {
						t.Errorf("%s: row %d is %q, and the truth %s", name, n, row, e.Truth)
					}
				}
				if strings.Contains(row, "not reached") {
					t.Errorf("%s: row %d was not reached: %q", name, n, row)
				}
			})
		}
		if n != len(rows) || reads == 0 && n > 0 && key.Policy.Acts == logbook.Trainee {
			t.Errorf("%s: %d rows, %d items, %d of them read", name, len(rows), n, reads)
		}
	}
}

// sections is the text of each section of a class.
func sections(document *html.Node, class string) (list []string) {
	for n := range document.Descendants() {
		if n.Data == "section" && markup.Attribute(n, "class") == class {
			list = append(list, markup.Text(n))
		}
	}
	return list
}

// Where what is put in changes what is right, the key says both.
func TestKeyWhereTheAnswerDiffers(t *testing.T) {
	key, run, healthy := keyTo(t, "hand-start-visit")
	document, _, _ := markup.Written(t, "visit", key)
	rows := itemRows(document)
	refused := func(log []logbook.Entry) map[string]bool {
		list := map[string]bool{}
		for _, e := range log {
			if e.Kind == logbook.Answer && e.Truth == logbook.No {
				list[e.Item] = true
			}
		}
		return list
	}
	here, usual := refused(run.Log), refused(healthy.Log)
	n, differ := 0, 0
	key.Procedure.Each(func(_ *procedure.Phase, it *procedure.Item) {
		n++
		if here[it.ID] && !usual[it.ID] {
			differ++
			if row := rows[n-1]; !strings.Contains(row, "Enter: ") || !strings.Contains(row, "Backspace: no") {
				t.Errorf("item %d is %q", n, row)
			}
		}
	})
	if differ == 0 {
		t.Error("nothing differs: the test looks at nothing")
	}
}
