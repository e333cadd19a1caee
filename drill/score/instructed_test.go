package score

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"hornlark/drill/logbook"
)

// instructedLog is a sitting of three items in which the instructor did a bit of everything.
func instructedLog(extra ...logbook.Entry) []logbook.Entry {
	w := &scribe{}
	by := func(e logbook.Entry) {
		e.Kind, e.Seat = logbook.Instruct, logbook.Instructor
		w.add(e)
	}
	do := func(item string) {
		w.ask(item, int((w.now+time.Second)/time.Millisecond))
		w.now += 2 * time.Second
		w.add(logbook.Entry{Kind: logbook.Done, Seat: logbook.Trainee, Item: item, OK: true})
	}
	do("a")
	by(logbook.Entry{Name: "weather", Text: "oat", Value: 31})
	by(logbook.Entry{Name: "fuel", Value: 9999, Why: logbook.OutOfRange, Truth: "0 to 390"})
	by(logbook.Entry{Name: "remark", Text: "Looked twice.", Onset: at(500)})
	by(logbook.Entry{Name: "insert", Abnormal: "walker", Item: "c"})
	w.add(logbook.Entry{Kind: logbook.Paused, Seat: logbook.Instructor})
	by(logbook.Entry{Name: "delete", Abnormal: "walker"})
	w.add(logbook.Entry{Kind: logbook.Unpaused, Seat: logbook.Trainee, Length: time.Minute})
	do("b")
	by(logbook.Entry{Name: "back", Abnormal: "p"})
	for _, item := range []string{"a", "b"} {
		w.add(logbook.Entry{Kind: logbook.Reopen, Seat: logbook.Instructor, Item: item})
	}
	do("a")
	do("b")
	for _, e := range extra {
		w.add(e)
	}
	do("c")
	return w.endAs(logbook.Complete)
}

// A result says what the instructor did and when, and what was to be done again for it. What could not be done is not among it.
func TestAResultSaysWhatTheInstructorDid(t *testing.T) {
	sheet := sheetOf("abc")
	sheet.Spoken = true
	r := Judge(sheet, instructedLog())
	ms := func(v float64) *float64 { return &v }
	want := []Instructed{
		{AtMS: 2000, Do: "weather", What: "oat", Value: ms(31)},
		{AtMS: 2000, Do: "insert", What: "walker", Item: "c"},
		{AtMS: 2000, Do: "freeze", LengthMS: ms(60000)},
		{AtMS: 2000, Do: "delete", What: "walker"},
		{AtMS: 4000, Do: "back", What: "p", Again: []string{"a", "b"}},
	}
	if !reflect.DeepEqual(r.Instructed, want) {
		t.Errorf("%+v; wanted %+v", r.Instructed, want)
	}
	if want := []Remark{{AtMS: 500, Text: "Looked twice."}}; !reflect.DeepEqual(r.Remarks, want) {
		t.Errorf("%+v; wanted %+v", r.Remarks, want)
	}
	for i, set := range []bool{true, true, false} {
		if it := r.Items[i]; it.SetBack != set || it.Outcome != Right {
			t.Errorf("%+v; wanted right, set back %v", it, set)
		}
	}
	// What was done again tells nothing of what would have been known, and neither does what follows it at once.
	var names []string
	for _, trial := range Trials(r, sheet) {
		names = append(names, string(trial.Kind)+" "+trial.Name)
	}
	if want := []string{"item c"}; !slices.Equal(names, want) {
		t.Errorf("trials %v; wanted %v", names, want)
	}
}

// Whatever the instructor takes out again counts for nothing, but for a look-alike that had been acted on before that.
func TestWhatTheInstructorTakesOutCountsForNothing(t *testing.T) {
	for _, c := range []struct {
		abnormal string
		harmless bool
		stop     bool
		by       logbook.Seat
		want     Outcome
		noise    int
	}{
		{"walker", false, false, logbook.Instructor, Cleared, 0},
		{"walker", false, true, logbook.Instructor, Cleared, 0},
		{"passer-by", true, false, logbook.Instructor, Cleared, 0},
		{"passer-by", true, false, "", LeftAlone, 1},
		{"passer-by", true, true, logbook.Instructor, ActedOn, 1},
	} {
		sheet := sheetOf("abc")
		sheet.Spoken = true
		middle := []logbook.Entry{
			{Kind: logbook.Inject, Seat: logbook.Instructor, Injection: "x#1", Abnormal: c.abnormal, OK: c.harmless},
			{Kind: logbook.Onset, Injection: "x#1", Class: logbook.Caption, Name: "fire1"},
		}
		if c.stop {
			middle = append(middle, logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
		}
		middle = append(middle, logbook.Entry{Kind: logbook.Cleared, Seat: c.by, Injection: "x#1"})
		r := Judge(sheet, instructedLog(middle...))
		in := r.Injections[0]
		if in.Outcome != c.want || !in.Inserted || r.Looking.Noise != c.noise || r.Handling.Count != 0 || r.Looking.Signals != 0 {
			t.Errorf("%+v: %s, inserted %v, handling %+v, looking %+v", c, in.Outcome, in.Inserted, r.Handling, r.Looking)
		}
		for _, trial := range Trials(r, sheet) {
			if trial.Kind == TrialNotice || trial.Kind == TrialActions {
				t.Errorf("%+v: it is a trial: %+v", c, trial)
			}
		}
	}
}

// Whoever calls stop, or moves something, because of what the instructor has just changed around the aircraft is not held to have done so for
// nothing; a good while after that it is as ever.
func TestAftermath(t *testing.T) {
	for _, c := range []struct {
		what  string
		after time.Duration
		alarm int
		slip  int
	}{
		{"fuel", time.Second, 0, 0},
		{"power", Aftermath - time.Second, 0, 0},
		{"weather", Aftermath + time.Second, 1, 1},
		{"sound", time.Second, 1, 1},
	} {
		sheet := sheetOf("a")
		sheet.Spoken = true
		w := &scribe{}
		w.add(logbook.Entry{Kind: logbook.Instruct, Seat: logbook.Instructor, Name: c.what, Text: "off", Value: 20})
		w.now += c.after
		w.add(logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
		w.add(logbook.Entry{Kind: logbook.Stray, Seat: logbook.Trainee, Key: "w", Control: "gen1"})
		w.ask("a", int((w.now+time.Second)/time.Millisecond))
		w.now += 2 * time.Second
		w.add(logbook.Entry{Kind: logbook.Done, Seat: logbook.Trainee, Item: "a", OK: true})
		r := Judge(sheet, w.endAs(logbook.Complete))
		slips := 0
		for _, d := range r.Order.Deviations {
			if d.Kind == Intrusion {
				slips++
			}
		}
		if r.Looking.FalseAlarms != c.alarm || slips != c.slip {
			t.Errorf("%+v: %d false alarms, %d intrusions", c, r.Looking.FalseAlarms, slips)
		}
	}
}
