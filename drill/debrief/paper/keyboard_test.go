package paper_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"hornlark/drill/aircraft"
	"hornlark/drill/debrief/paper"
	"hornlark/drill/drilltest/markup"
)

// box is a key of the drawing, with the texts in it.
type box struct {
	x, y, wide, high float64
	class            string
	texts            []string
}

// drawn reads the drawing back.
func drawn(t *testing.T, document *html.Node) (boxes []box, high float64) {
	t.Helper()
	figure := func(n *html.Node, key string) float64 {
		v, err := strconv.ParseFloat(markup.Attribute(n, key), 64)
		if err != nil {
			t.Fatalf("%s of %s: %v", key, n.Data, err)
		}
		return v
	}
	for svg := range document.Descendants() {
		if svg.Data != "svg" {
			continue
		}
		markup.Told(t, "keyboard", document, svg)
		size := strings.Fields(markup.Attribute(svg, "viewBox"))
		high, _ = strconv.ParseFloat(size[3], 64)
		for n := range svg.ChildNodes() {
			switch {
			case n.Data == "rect":
				boxes = append(boxes, box{x: figure(n, "x"), y: figure(n, "y"), wide: figure(n, "width"), high: figure(n, "height"), class: markup.Attribute(n, "class")})
			case n.Data == "text" && len(boxes) > 0:
				b := &boxes[len(boxes)-1]
				x, y, size := figure(n, "x"), figure(n, "y"), figure(n, "font-size")
				if text := markup.Text(n); strings.Contains(text, "row") && size > 2.5 && size < 3 {
					continue // the name of a zone
				}
				// Letters reach up by some 0.75 of the size and down by 0.25.
				if x < b.x || x > b.x+b.wide || y-0.8*size < b.y || y+0.25*size > b.y+b.high {
					t.Errorf("%q at %g, %g lies beyond its key at %g, %g", markup.Text(n), x, y, b.x, b.y)
				}
				wide := float64(len([]rune(markup.Text(n)))) * size * 0.58
				if squeezed := markup.Attribute(n, "textlength") + markup.Attribute(n, "textLength"); squeezed != "" {
					wide, _ = strconv.ParseFloat(squeezed, 64)
				}
				if x+wide > b.x+b.wide {
					t.Errorf("%q is wider than its key", markup.Text(n))
				}
				b.texts = append(b.texts, markup.Text(n))
			}
		}
	}
	return boxes, high
}

// Each control of every aircraft stands on its key, in the row of its zone and in its place there; keys do not lie over one another.
func TestKeyboards(t *testing.T) {
	for _, prof := range builtin(t).Profiles() {
		for _, beside := range []bool{false, true} {
			k := &paper.Keyboard{
				Sheet: paper.Sheet{Size: paper.A5, Edition: "0A1B2C3D", Caution: "Not for flight."}, Profile: prof, Layout: "plain",
				Label: strings.ToUpper, Stop: "^", Beside: beside, Fixed: [][2]string{{"Enter", "yes"}, {"Esc", "pause"}},
			}
			document, source, _ := markup.Written(t, prof.Name, k)
			onEverySheet(t, prof.Name, document, source, prof.Title, "Edition 0A1B2C3D", "Not for flight.")
			if !strings.Contains(source, "size: a5 landscape;") {
				t.Error("the sheet does not lie")
			}
			boxes, high := drawn(t, document)
			for i, a := range boxes {
				if a.x < 0 || a.y < 0 || a.x+a.wide > 194 || a.y+a.high > high {
					t.Errorf("%s: a key lies beyond the drawing", prof.Name)
				}
				for _, b := range boxes[:i] {
					if a.x < b.x+b.wide && b.x < a.x+a.wide && a.y < b.y+b.high && b.y < a.y+a.high {
						t.Errorf("%s: keys %q and %q lie over one another", prof.Name, a.texts, b.texts)
					}
				}
			}
			var rows [][]box // by their height
			for _, b := range boxes {
				if len(rows) == 0 || rows[len(rows)-1][0].y != b.y {
					rows = append(rows, nil)
				}
				rows[len(rows)-1] = append(rows[len(rows)-1], b)
			}
			if len(rows) != len(aircraft.KeyRows()) {
				t.Fatalf("%s: %d rows", prof.Name, len(rows))
			}
			for i, row := range rows {
				slices.SortFunc(row, func(a, b box) int { return int(a.x - b.x) })
				stop := slices.IndexFunc(row, func(b box) bool { return b.class == "cap" })
				if want := map[bool]int{false: 0, true: len(rows) - 1}[beside]; (stop == 0) != (i == want) || stop > 0 {
					t.Errorf("%s: the stop call is key %d of row %d", prof.Name, stop, i)
				}
				if stop == 0 {
					row = row[1:]
				}
				keys := aircraft.KeyRows()[i]
				if len(row) != len(keys.Keys) {
					t.Fatalf("%s: row %d has %d keys", prof.Name, i, len(row))
				}
				for j, key := range keys.Keys {
					texts := strings.Join(row[j].texts, " ")
					if row[j].texts[0] != strings.ToUpper(key) {
						t.Errorf("%s: key %q is in the place of %q", prof.Name, row[j].texts[0], key)
					}
					control, used := prof.ControlAt(key)
					if used == (row[j].class == "free") {
						t.Errorf("%s: key %q is used: %v, and drawn otherwise", prof.Name, key, used)
					}
					if used && !strings.Contains(texts, prof.Controls[control].Name) {
						t.Errorf("%s: key %q has %q, want %q", prof.Name, key, texts, prof.Controls[control].Name)
					}
				}
			}
			table := markup.Tables(t, prof.Name, document)
			for i := range prof.Controls {
				c := &prof.Controls[i]
				found := slices.ContainsFunc(table, func(row []string) bool {
					return row[2] == c.Name && row[1] == strings.ToUpper(c.Key) && row[0] == string(c.Zone()) && strings.Contains(row[3], c.Label(0)) && strings.Contains(row[3], c.Label(c.Count()-1))
				})
				if !found {
					t.Errorf("%s: %s is not in the list with all of its positions", prof.Name, c.ID)
				}
			}
		}
	}
}

// Names and positions that are long, or many, stay on their key; the list has all of them.
func TestKeyboardWithLongNames(t *testing.T) {
	prof := *builtin(t).Profiles()[0]
	prof.Controls = slices.Clone(prof.Controls)
	var many []string
	for i := range 40 {
		many = append(many, "position-number-"+strconv.Itoa(i))
	}
	for i := range prof.Controls {
		prof.Controls[i].Name, prof.Controls[i].Positions, prof.Controls[i].Travel = "WWWWWWWWWWWW", many, nil
	}
	document, _, _ := markup.Written(t, "long", &paper.Keyboard{Sheet: paper.Sheet{Size: paper.A4}, Profile: &prof, Layout: "plain", Label: strings.ToUpper, Stop: "^"})
	drawn(t, document)
	if text := markup.Text(document); strings.Count(text, "position-number-39") != len(prof.Controls) {
		t.Errorf("the last position is told of %d times, want %d", strings.Count(text, "position-number-39"), len(prof.Controls))
	}
}
