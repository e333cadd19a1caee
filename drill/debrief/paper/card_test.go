package paper_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/debrief/paper"
	"hornlark/drill/drilltest/markup"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
)

func builtin(t *testing.T) *library.Library {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return lib
}

// onEverySheet looks whether the head and the foot are rows of a table, which browsers repeat (CSS 2.2, 17.2), and say what they should.
func onEverySheet(t *testing.T, name string, document *html.Node, source string, head, edition, caution string) {
	t.Helper()
	found := map[string]string{}
	for n := range document.Descendants() {
		if n.Type == html.ElementNode && n.Parent.Data == "body" {
			found[markup.Attribute(n, "class")] = markup.Text(n)
		}
	}
	if !strings.Contains(found["head"], head) {
		t.Errorf("%s: at the head stands %q, want %q", name, found["head"], head)
	}
	if !strings.Contains(found["foot"], caution) || !strings.Contains(found["foot"], edition) {
		t.Errorf("%s: at the foot stands %q, want %q and %q", name, found["foot"], caution, edition)
	}
	for _, rule := range []string{
		".head { display: table-header-group; break-inside: avoid; }", ".foot { display: table-footer-group; break-inside: avoid; }",
		"counter(page)", "tr, li, .whole { break-inside: avoid; }", ".phase, .part { break-inside: avoid; }",
	} {
		if !strings.Contains(source, rule) {
			t.Errorf("%s: the style has no %q", name, rule)
		}
	}
}

// Every card of a built-in procedure has each item in its order, what marks it, and the limits of what is looked at.
func TestCards(t *testing.T) {
	lib := builtin(t)
	for _, proc := range lib.Procedures() {
		prof, err := lib.Profile(proc.Profile)
		if err != nil {
			t.Fatal(err)
		}
		for _, size := range []paper.Size{paper.A5, paper.A4} {
			name := fmt.Sprintf("%s on %s", proc.Name, size)
			edition := library.Edition(prof, proc)
			card := &paper.Card{Sheet: paper.Sheet{Size: size, Edition: edition, Caution: debrief.CautionOf(prof)}, Procedure: proc, Profile: prof}
			document, source, _ := markup.Written(t, name, card)
			onEverySheet(t, name, document, source, proc.Title+" ("+proc.Name+")", "Edition "+edition, debrief.Caution)
			if want := fmt.Sprintf("size: %s; ", size); !strings.Contains(source, want) {
				t.Errorf("%s: the style has no %q", name, want)
			}
			rows := itemRows(document)
			no := 0
			proc.Each(func(_ *procedure.Phase, it *procedure.Item) {
				if no >= len(rows) {
					t.Fatalf("%s has %d rows and more items", name, len(rows))
				}
				row := rows[no]
				no++
				fitted := it.Fitted == nil || *it.Fitted
				for want, has := range map[string]bool{
					fmt.Sprint(no): true, it.Challenge: true, it.Response: true, "HOLD": fitted && it.Hold != "", "IF ": fitted && it.When != "", "WAIT": fitted && it.After != "",
					"CALL": fitted && it.Callout != nil, "READ": fitted && it.Read != "", "SOUNDS": fitted && len(it.Expect) > 0, "IF NOT": fitted && it.IfNot != nil,
					"ANY ORDER": fitted && it.Group != "", "NOT FITTED": !fitted, "The flow ends here.": fitted && it.IfNot != nil && it.IfNot.Stop,
				} {
					text := row
					if want == "IF " {
						text = strings.ReplaceAll(row, "IF NOT", "")
					}
					if strings.Contains(text, want) != has {
						t.Errorf("%s: item %d (%s) has %q: %v\n%s", name, no, it.ID, want, !has, row)
					}
				}
				if it.IfNot != nil && !strings.Contains(row, it.IfNot.Say) {
					t.Errorf("%s: item %d does not say %q", name, no, it.IfNot.Say)
				}
			})
			if no != len(rows) {
				t.Errorf("%s has %d rows of items, want %d", name, len(rows), no)
			}
			text := markup.Text(document)
			proc.Each(func(_ *procedure.Phase, it *procedure.Item) {
				gauge := it.Read
				if it.Callout != nil {
					gauge = it.Callout.Gauge
				}
				if gauge != "" && !slices.Contains(card.Gauges(), gauge) {
					t.Errorf("%s: %s is read and has no limits there", name, gauge)
				}
			})
			for _, a := range lib.Abnormals() {
				if strings.Contains(text, a.Title) {
					t.Errorf("%s tells of %q", name, a.Title)
				}
			}
		}
	}
}

// itemRows is the text of each item.
func itemRows(document *html.Node) (rows []string) {
	for n := range document.Descendants() {
		if n.Type != html.ElementNode || n.Data != "section" || markup.Attribute(n, "class") != "phase" {
			continue
		}
		for tr := range n.Descendants() {
			if tr.Type == html.ElementNode && tr.Data == "tr" && tr.Parent.Data == "tbody" {
				rows = append(rows, markup.Text(tr))
			}
		}
	}
	return rows
}

// The limits are those of the profile, with the boundaries of red bands in them, which is what the model does.
func TestLimitsInWords(t *testing.T) {
	lib := builtin(t)
	proc, err := lib.Procedure("turnstone-start")
	if err != nil {
		t.Fatal(err)
	}
	prof, err := lib.Profile(proc.Profile)
	if err != nil {
		t.Fatal(err)
	}
	document, _, _ := markup.Written(t, "limits", &paper.Card{Sheet: paper.Sheet{Size: paper.A5}, Procedure: proc, Profile: prof})
	rows := markup.Tables(t, "limits", document)
	// As drill/library/profiles/turnstone-st.yaml has its bands.
	for _, want := range [][]string{
		{"NR", "%", "96 to 103", "82 to 96, 103 to 107", "82 or less, 107 or more"},
		{"TOT", "°C", "below 720", "720 to 805", "805 or more"},
		{"N1", "%", "54 to 101", "below 54", "101 or more"},
		{"FUEL", "kg", "from 28", "14 to 28", "14 or less"},
	} {
		if !slices.ContainsFunc(rows, func(row []string) bool { return slices.Equal(row, want) }) {
			t.Errorf("no row is %q", want)
		}
	}
	if !strings.Contains(markup.Text(document), "TOT beyond 875 °C. The turbine has to be inspected.") {
		t.Error("an inspection is missing")
	}
}

// A condition is written with what stands on the panel, and means the same.
func TestConditionsInWords(t *testing.T) {
	lib := builtin(t)
	prof, err := lib.Profile("turnstone-st")
	if err != nil {
		t.Fatal(err)
	}
	for src, want := range map[string]string{
		"oat < 8":                             "OAT < 8",
		"not generator and volts >= 26":       "not GENERATOR on and VOLT ≥ 26",
		`radio == "base" and tot1 <= 5`:       "RADIO = base and TOT ≤ 5",
		"rotor_low or low_nr":                 "LOW NR lit or low rotor horn sounding",
		"throttle != 20":                      "THROTTLE ≠ 20",
		`battery == "off" or height > 3`:      "BATTERY = off or height > 3",
		"alight1 and idle_time1 > 60":         "alight 1 and idle time 1 > 60",
		"fuel_press1 > 1\n  and fuel_press>1": "FUEL P > 1 and FUEL P>1",
	} {
		item := procedure.Item{ID: "x", Challenge: "X", Response: "Y", Confirm: "battery", When: src}
		proc := &procedure.Procedure{Name: "p", Title: "P", Profile: prof.Name, Phases: []procedure.Phase{{ID: "a", Title: "A", Items: []procedure.Item{item}}}}
		document, _, _ := markup.Written(t, src, &paper.Card{Sheet: paper.Sheet{Size: paper.A5}, Procedure: proc, Profile: prof})
		if got := itemRows(document)[0]; !strings.Contains(got, "IF "+want) {
			t.Errorf("%s is written as %q, want %q", src, got, want)
		}
	}
}

// Groups have letters, each its own, however many there are; what is held says before which item, by its number.
func TestGroupsAndHolds(t *testing.T) {
	lib := builtin(t)
	prof, err := lib.Profile("turnstone-st")
	if err != nil {
		t.Fatal(err)
	}
	proc := &procedure.Procedure{Name: "p", Title: "P", Profile: prof.Name, Phases: []procedure.Phase{{ID: "a", Title: "A"}}}
	for i := range 60 {
		it := procedure.Item{ID: fmt.Sprint("i", i), Challenge: "Same", Response: "On", Set: aircraft.Settings{{Control: "battery", Position: "on"}}, Group: fmt.Sprint("g", i/2)}
		if i == 0 {
			it.Hold = "i59"
		}
		proc.Phases[0].Items = append(proc.Phases[0].Items, it)
	}
	document, _, _ := markup.Written(t, "groups", &paper.Card{Sheet: paper.Sheet{Size: paper.A5}, Procedure: proc, Profile: prof})
	rows := itemRows(document)
	for i, want := range map[int]string{0: "before 60 “Same”ANY ORDER a", 2: "ANY ORDER b", 50: "ANY ORDER z", 52: "ANY ORDER aa", 59: "ANY ORDER ad"} {
		if !strings.Contains(rows[i], want) {
			t.Errorf("item %d has %q, want %q", i+1, rows[i], want)
		}
	}
}

// What is wrong with a size is said, with what there is.
func TestSizes(t *testing.T) {
	for _, name := range []string{"a5", "A4"} {
		if size, err := paper.ParseSize(name); err != nil || string(size) != strings.ToLower(name) {
			t.Errorf("%s: %q, %v", name, size, err)
		}
	}
	if _, err := paper.ParseSize("a6"); err == nil || !strings.Contains(err.Error(), "a5") {
		t.Errorf("a6: %v", err)
	}
}
