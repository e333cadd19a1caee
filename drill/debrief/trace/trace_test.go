package trace_test

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/debrief/trace"
	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// seen goes through a built-in scenario with everything answered.
func seen(t *testing.T, name string, every time.Duration) (*trace.Trace, *drilltest.Sitting) {
	t.Helper()
	var tr *trace.Trace
	s := drilltest.Through(t, name, &scenario.Answers{StartFrom: scenario.Perfect},
		func(p *drilltest.Setup) { tr = trace.New(p.Profile, every) },
		func(at time.Duration, craft *aircraft.Aircraft) { tr.Look(at, craft) })
	for _, e := range s.Log {
		tr.Note(e)
	}
	return tr, s
}

// A table with a row for every step is read back by another reader, and goes as far as the extremes that the sitting has found
// by itself, which leave out tests and what has not settled. Every press is in it once.
func TestTableAgreesWithTheLog(t *testing.T) {
	for _, name := range []string{"first-start", "hand-start-early", "piston-start-busy"} {
		tr, s := seen(t, name, aircraft.StepLength)
		var out bytes.Buffer
		if err := tr.WriteCSV(&out); err != nil {
			t.Fatal(err)
		}
		records, err := csv.NewReader(&out).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if rows := int(tr.Length()/aircraft.StepLength) + 1; len(records) < rows {
			t.Errorf("%s: %d rows in %v", name, len(records)-1, tr.Length())
		}
		presses, peaks := 0, 0
		events := slices.Index(records[0], "events")
		for _, record := range records[1:] {
			for event := range strings.SplitSeq(record[events], "; ") {
				if strings.HasPrefix(event, "press ") {
					presses++
				}
			}
		}
		for _, e := range s.Log {
			switch e.Kind {
			case logbook.Press:
				presses--
			case logbook.Peak:
				i, ok := s.Profile.GaugeIndex(e.Name)
				if !ok {
					t.Fatalf("%s: no gauge %s", name, e.Name)
				}
				lowest, highest := column(t, records, i+1)
				// The table has one decimal more than the gauge.
				if unit := decimal(s.Profile.Gauges[i].Decimals + 1); e.Value < lowest-unit || e.Value > highest+unit {
					t.Errorf("%s: %s of %s is %v in the log, and %v to %v in the table", name, e.Text, e.Name, e.Value, lowest, highest)
				}
				peaks++
			}
		}
		if peaks == 0 {
			t.Errorf("%s: no extremes to compare with", name)
		}
		// The caution stands beside the first row, whole, and once.
		caution := slices.Index(records[0], "caution")
		if caution < 0 || records[1][caution] != debrief.Caution || records[2][caution] != "" {
			t.Errorf("%s: the caution is %q", name, records[1][max(caution, 0)])
		}
		if presses != 0 {
			t.Errorf("%s: the log has %d presses more than the table", name, -presses)
		}
	}
}

func column(t *testing.T, records [][]string, at int) (lowest, highest float64) {
	t.Helper()
	var values []float64
	for _, record := range records[1:] {
		if record[at] == "" {
			continue
		}
		v, err := strconv.ParseFloat(record[at], 64)
		if err != nil {
			t.Fatal(err)
		}
		values = append(values, v)
	}
	if len(values) == 0 {
		t.Fatalf("column %s is empty", records[0][at])
	}
	return slices.Min(values), slices.Max(values)
}

func decimal(n int) float64 {
	unit := 1.0
	for range n {
		unit /= 10
	}
	return unit
}

// The plot is well-formed, names every gauge that has limits and every abnormal, and is the same each time.
func TestPlotIsWhole(t *testing.T) {
	for _, name := range []string{"first-start", "hand-start-early", "piston-start-busy"} {
		tr, s := seen(t, name, 200*time.Millisecond)
		var out, again bytes.Buffer
		if err := errors.Join(tr.WriteSVG(&out), tr.WriteSVG(&again)); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(out.Bytes(), again.Bytes()) {
			t.Errorf("%s: two plots of one trace differ", name)
		}
		text := textOf(t, &out)
		for i := range s.Profile.Gauges {
			if g := &s.Profile.Gauges[i]; len(g.Bands) > 0 && !strings.Contains(text, g.Name) {
				t.Errorf("%s: the plot does not name %s", name, g.Name)
			}
		}
		for _, e := range s.Log {
			if e.Kind == logbook.Onset && !strings.Contains(text, e.Abnormal) {
				t.Errorf("%s: the plot does not name %s", name, e.Abnormal)
			}
			if e.Kind == logbook.Phase && !strings.Contains(text, e.Name) {
				t.Errorf("%s: the plot does not name %s", name, e.Name)
			}
		}
		// What it shows is said in words as well: SVG 2, 5.8 and 5.9.
		for _, part := range []string{tr.Title(), tr.Description()} {
			if len(part) < 20 || !strings.Contains(text, part) {
				t.Errorf("%s: the plot does not say %q", name, part)
			}
		}
		for _, part := range []string{s.Profile.Title, "Phases: ", "NR: ", " to ", "fictional"} {
			if !strings.Contains(tr.Title()+tr.Description(), part) {
				t.Errorf("%s: %q is not in the description: %s", name, part, tr.Description())
			}
		}
		if !strings.Contains(text, "Not approved for operational use") {
			t.Errorf("%s: the plot has no caution", name)
		}
	}
}

// What was done out of its place, or not at all, is named where it was seen.
func TestPlotNamesDepartures(t *testing.T) {
	tr, s := seen(t, "first-start", time.Second)
	log := slices.DeleteFunc(slices.Clone(s.Log), func(e logbook.Entry) bool { return e.Kind == logbook.Done && e.Item == "radio" })
	tr.Judged(score.Judge(s.Exercise.Sheet(s.Seed), log))
	var out bytes.Buffer
	if err := tr.WriteSVG(&out); err != nil {
		t.Fatal(err)
	}
	if text := textOf(t, &out); !strings.Contains(text, "omission radio") || strings.Count(text, "omission") != 1 {
		t.Errorf("one omission, of radio, is not what the plot tells: %d", strings.Count(text, "omission"))
	}
}

// textOf is what is written in a picture.
func textOf(t *testing.T, svg io.Reader) string {
	t.Helper()
	var text strings.Builder
	for decoder := xml.NewDecoder(svg); ; {
		token, err := decoder.Token()
		switch {
		case err == io.EOF:
			return text.String()
		case err != nil:
			t.Fatal(err)
		}
		if data, ok := token.(xml.CharData); ok {
			text.Write(data)
		}
	}
}
