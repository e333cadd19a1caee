package debrief_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// led is a sitting in which the instructor took part.
func led() *score.Result {
	r := slips()
	r.Instructed = []score.Instructed{
		{AtMS: 2000, Do: "insert", What: "hot-start", Title: "Hot start of engine 2", Item: "pump"},
		{AtMS: 65300, Do: "back", What: "cold", Again: []string{"brake", "doors"}},
		{AtMS: 70000, Do: "weather", What: "oat", Value: ms(31.5)},
	}
	r.Remarks = []score.Remark{{AtMS: 61000, Text: "Looked at <the floor>, not at \x1b[31mTOT."}}
	r.Items[0].SetBack, r.Injections[0].Inserted = true, true
	return r
}

// Each act of the instructor's is told in words.
func TestWhatTheInstructorDidInWords(t *testing.T) {
	n := debrief.Names{Items: map[string]string{"pump": "Tank pump 1", "brake": "Rotor brake"}, Phases: map[string]string{"cold": "Cold"}}
	for _, c := range []struct {
		did  score.Instructed
		want string
	}{
		{score.Instructed{Do: "insert", What: "walker", Title: "Somebody walks"}, "inserted: Somebody walks"},
		{score.Instructed{Do: "insert", What: "walker", WhenMS: ms(95250)}, "inserted: walker, to come at 1:35.3"},
		{score.Instructed{Do: "insert", What: "walker", Phase: "cold"}, "inserted: walker, to come as Cold begins"},
		{score.Instructed{Do: "insert", What: "walker", Item: "pump"}, "inserted: walker, to come as Tank pump 1 is asked"},
		{score.Instructed{Do: "delete", What: "walker"}, "deleted before it came: walker"},
		{score.Instructed{Do: "clear"}, "removed what was in the aircraft"},
		{score.Instructed{Do: "clear", What: "walker"}, "removed from the aircraft: walker"},
		{score.Instructed{Do: "freeze", LengthMS: ms(61000)}, "held the sitting for 61 s"},
		{score.Instructed{Do: "freeze"}, "held the sitting"},
		{score.Instructed{Do: "back", What: "cold", Again: []string{"brake", "doors"}}, "set back to Cold, to be done again: Rotor brake, doors"},
		{score.Instructed{Do: "back", What: "cold"}, "set back to Cold"},
		{score.Instructed{Do: "say", What: "Take your time."}, `had it said: "Take your time."`},
		{score.Instructed{Do: "weather", What: "oat", Value: ms(-5)}, "set the outside air temperature to -5 °C"},
		{score.Instructed{Do: "weather", What: "tailwind", Value: ms(12)}, "set the tailwind to 12 kt"},
		{score.Instructed{Do: "weather", What: "tailwind", Value: ms(-12)}, "set the headwind to 12 kt"},
		{score.Instructed{Do: "fuel", Value: ms(120)}, "set the fuel to 120 kg"},
		{score.Instructed{Do: "power", What: "off"}, "had ground power unplugged"},
		{score.Instructed{Do: "power", What: "on"}, "had ground power plugged in"},
		{score.Instructed{Do: "sound", What: "off"}, "turned the sound off"},
		{score.Instructed{Do: "level", Value: ms(-6)}, "set the sound to -6 dB of its level"},
	} {
		if got := n.Did(c.did); got != c.want {
			t.Errorf("%+v: %q; wanted %q", c.did, got, c.want)
		}
	}
	for _, do := range drill.Instructions { // none is told by its bare name
		if did := n.Did(score.Instructed{Do: string(do)}); did == string(do) && do != drill.Remark && do != drill.Release {
			t.Errorf("%s is told as %q", do, did)
		}
	}
}

// Why something could not be done is told in words, for every reason, with what is possible.
func TestRefusalsInWords(t *testing.T) {
	for _, why := range []logbook.Reason{
		logbook.NoSuch, logbook.NotBegun, logbook.NotWaiting, logbook.OutOfRange, logbook.Past, logbook.TooMany, logbook.TooFast, logbook.WhileHeld,
		logbook.NotFitted, logbook.Already,
	} {
		e := logbook.Entry{Kind: logbook.Instruct, Name: "fuel", Why: why, Truth: "0 to 390"}
		if got := debrief.Refusal(&e); strings.HasPrefix(got, string(why)+";") || !strings.HasSuffix(got, "; possible: 0 to 390") {
			t.Errorf("%s: %q", why, got)
		}
	}
	if got := debrief.Refusal(&logbook.Entry{Kind: logbook.Instruct, Name: "fuel"}); got != "" {
		t.Errorf("nothing was refused: %q", got)
	}
}

// Text, table and statements tell of what the instructor did and wrote down, and of a sitting without any of it they say nothing.
func TestEveryReportTellsOfTheInstructor(t *testing.T) {
	for _, led := range []*score.Result{led(), slips()} {
		took := len(led.Instructed) > 0
		text := strings.Join(debrief.Text(debrief.Head{}, led, 100), "\n")
		for _, want := range []string{
			"The instructor took part (3 acts, listed below)", "REMARKS OF THE INSTRUCTOR", "1:01.0  Looked at <the floor>", "WHAT THE INSTRUCTOR DID",
			"0:02.0  inserted: Hot start of engine 2, to come as pump is asked", "1:05.3  set back to cold, to be done again: brake, doors",
			"inserted by the instructor", "set back to before them: brake",
		} {
			if strings.Contains(text, want) != took {
				t.Errorf("took part %v, and %q in the text: %v\n%s", took, want, !took, text)
			}
		}
		s := debrief.Sitting{UID: "u", Result: led}
		var table bytes.Buffer
		out := debrief.NewTable(&table)
		out.Add(&s)
		if err := out.Close(); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(&table).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		cell := func(row int, name string) string {
			for i, column := range rows[0] {
				if column == name {
					return rows[row][i]
				}
			}
			t.Fatalf("there is no column %s", name)
			return ""
		}
		acts, remarks := cell(1, "instructed"), cell(1, "remarks")
		if strings.Contains(acts, "1:10.0 set the outside air temperature to 31.5 °C") != took || strings.Contains(remarks, "1:01.0 Looked") != took ||
			(cell(1, "set_back") == "true") != took || cell(2, "set_back") != "false" || (cell(len(led.Items)+1, "inserted") == "true") != took || strings.Contains(remarks, "\x1b") {
			t.Errorf("took part %v: %q, %q, %q", took, acts, remarks, rows[1])
		}
		body, err := json.Marshal(debrief.Statements(&s, debrief.Home))
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{"extensions/instructed", "extensions/remarks", "extensions/set-back", "extensions/inserted", "Looked at"} {
			if strings.Contains(string(body), want) != took {
				t.Errorf("took part %v, and %s in the statements: %v", took, want, !took)
			}
		}
	}
}
