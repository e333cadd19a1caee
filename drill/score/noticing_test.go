package score

import (
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// moment is something that happens in a sitting.
type moment func(*scribe)

func on(ms int, e logbook.Entry) moment { return func(w *scribe) { w.at(ms, e) } }

// shows puts the walker in at 9 s; at 10 s it begins to be noticed by a cue.
func shows(class logbook.Class, name string, harmless bool) moment {
	return func(w *scribe) {
		w.cue = 1
		w.at(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker", OK: harmless})
		w.at(10000, logbook.Entry{Kind: logbook.Cue, Cue: 1, Class: class, Name: name, Onset: at(10000)})
		w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Cue: 1, Class: class, Name: name})
	}
}

var (
	act = func(ms, n int) moment {
		return on(ms, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: n})
	}
	already = func(n int) moment {
		return on(10000, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: n, Why: logbook.Already})
	}
	stray = func(ms int, control, key string) moment {
		return on(ms, logbook.Entry{Kind: logbook.Stray, Control: control, Key: key})
	}
	worse = func(ms int) moment {
		return on(ms, logbook.Entry{Kind: logbook.Worse, Injection: "walker#1", Control: "collective", Text: "bad"})
	}
	also = func(ms int) moment {
		return on(ms, logbook.Entry{Kind: logbook.Also, Injection: "walker#1", Control: "pedals"})
	}
	stopCall = func(ms int) moment { return on(ms, logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee}) }
	tell     = func(ms int) moment { return on(ms, logbook.Entry{Kind: logbook.Told, Injection: "walker#1"}) }
	silence  = func(ms int, name string) moment {
		return on(ms, logbook.Entry{Kind: logbook.Silence, Name: name, OK: true})
	}
	over = func(ms int, how logbook.Kind, why logbook.Reason) moment {
		return on(ms, logbook.Entry{Kind: how, Injection: "walker#1", Why: why})
	}
	doneBy = func(ms int, item string, seat logbook.Seat) moment {
		return on(ms, logbook.Entry{Kind: logbook.Done, Item: item, OK: true, Seat: seat})
	}
	asked = func(ms int, item string) moment { return func(w *scribe) { w.now = at(ms); w.ask(item, ms) } }
)

// played judges a sitting of these parts with the walker in it, whose actions are to move the collective and the transponder.
func played(sheet *Sheet, why logbook.Reason, parts ...moment) *Result {
	if sheet.Abnormals["walker"] == nil {
		ab := walker(false)
		ab.Actions[0].Set, ab.Actions[1].Set = aircraft.Put("collective", "30"), aircraft.Put("transponder", "on")
		sheet.Abnormals["walker"] = ab
	}
	w := &scribe{}
	for _, p := range parts {
		p(w)
	}
	return Judge(sheet, w.endAs(why))
}

// What is told after it was noticed tells nothing, and what is told again was told the first time.
func TestTold(t *testing.T) {
	for _, c := range []struct {
		name  string
		parts []moment
		told  float64 // ms after the onset; negative: not
	}{
		{"told", []moment{tell(12000)}, 2000},
		{"told twice", []moment{tell(12000), tell(13000)}, 2000},
		{"noticed before", []moment{stopCall(11000), tell(12000)}, -1},
		{"noticed after", []moment{tell(12000), stopCall(13000)}, 2000},
	} {
		r := played(sheetOf(""), logbook.Complete, append([]moment{shows(logbook.Caption, "light", false)}, append(c.parts, over(30000, logbook.Lost, logbook.Timeout))...)...)
		sameMS(t, c.name, r.Injections[0].ToldMS, c.told)
		if n := r.Handling.Told; n == 1 != (c.told >= 0) || r.Handling.Noticed == 1 != (c.told < 0) {
			t.Errorf("%s: %+v", c.name, r.Handling)
		}
	}
}

// Whoever silences a horn has noticed what it is for: one of the abnormal's cues, or the horn that showed it first. Silencing another
// says nothing of it, and what showed it without a sound cannot be silenced.
func TestNoticedBySilencing(t *testing.T) {
	for _, c := range []struct {
		name     string
		harmless bool
		class    logbook.Class
		shown    string
		silenced []moment
		ms       float64 // after the onset; negative: not noticed
	}{
		{"a horn of its own", false, logbook.Caption, "light", []moment{silence(11000, "low_nr")}, 1000},
		{"the horn that showed it", false, logbook.Horn, "gong", []moment{silence(11000, "gong")}, 1000},
		{"twice", false, logbook.Horn, "gong", []moment{silence(11000, "gong"), silence(12000, "gong")}, 1000},
		{"another horn", false, logbook.Horn, "gong", []moment{silence(11000, "fire")}, -1},
		{"another horn, and it was a light", false, logbook.Caption, "light", []moment{silence(11000, "fire")}, -1},
		{"something named as the light that showed it", false, logbook.Caption, "light", []moment{silence(11000, "light")}, -1},
		{"the horn of a look-alike", true, logbook.Horn, "gong", []moment{silence(11000, "gong")}, 1000},
		{"a horn that a look-alike could have had", true, logbook.Caption, "light", []moment{silence(11000, "low_nr")}, -1},
		{"another horn over a look-alike", true, logbook.Horn, "gong", []moment{silence(11000, "fire")}, -1},
	} {
		parts := append([]moment{shows(c.class, c.shown, c.harmless)}, c.silenced...)
		in := played(sheetOf(""), logbook.Complete, append(parts, over(30000, logbook.Lost, logbook.Timeout))...).Injections[0]
		sameMS(t, c.name+": silenced", in.SilencedMS, c.ms)
		sameMS(t, c.name+": noticed", in.DetectionMS, c.ms)
		if in.NoticedBy == BySilence != (c.ms >= 0) {
			t.Errorf("%s: noticed by %q", c.name, in.NoticedBy)
		}
	}
}

// A control that it wants moved, moved by the trainee and for nothing else, is how it was noticed.
func TestNoticedByMoving(t *testing.T) {
	moved := func(seat logbook.Seat, control, item string) moment {
		return on(11000, logbook.Entry{Kind: logbook.Moved, Seat: seat, Control: control, Item: item, Position: "50"})
	}
	for _, c := range []struct {
		name string
		move moment
		by   Notice
	}{
		{"the lever", moved(logbook.Trainee, "collective", ""), ByMove},
		{"another control", moved(logbook.Trainee, "radio", ""), ""},
		{"the lever, by the other pilot", moved(logbook.Pilot, "collective", ""), ""},
		{"the lever, for an item", moved(logbook.Trainee, "collective", "a"), ""},
		{"the lever on its way", stray(11000, "collective", "z"), ""},
		{"what makes it worse", worse(11000), ByWorse},
		{"what makes it worse, for an item", on(11000, logbook.Entry{Kind: logbook.Worse, Item: "a", Control: "collective", Text: "bad"}), ""},
	} {
		in := played(sheetOf("a"), logbook.Complete, shows(logbook.Gauge, "nr", false), c.move, over(30000, logbook.Lost, logbook.Timeout)).Injections[0]
		if in.NoticedBy != c.by {
			t.Errorf("%s: noticed by %q; wanted %q", c.name, in.NoticedBy, c.by)
		}
	}
}

// A look-alike is acted on by whatever is done because of it: a control, a stop call where nothing else is wrong. A key that
// moves nothing is no act, and neither is what an item asked for.
func TestActingOnALookAlike(t *testing.T) {
	real := func(w *scribe) {
		w.at(9500, logbook.Entry{Kind: logbook.Inject, Injection: "other#1", Abnormal: "other"})
		w.at(10500, logbook.Entry{Kind: logbook.Onset, Injection: "other#1", Class: logbook.Caption})
	}
	realOver := on(10600, logbook.Entry{Kind: logbook.Lost, Injection: "other#1"})
	for _, c := range []struct {
		name  string
		parts []moment
		want  Outcome
	}{
		{"nothing", nil, LeftAlone},
		{"a control", []moment{stray(11000, "gen1", "q")}, ActedOn},
		{"a key", []moment{stray(11000, "", "enter")}, LeftAlone},
		{"a control, then a key", []moment{stray(11000, "gen1", "q"), stray(12000, "", "enter")}, ActedOn},
		{"a stop call", []moment{stopCall(11000)}, ActedOn},
		{"a stop call, then a stop call for something real", []moment{stopCall(10400), real, stopCall(11000)}, ActedOn},
		{"a stop call for something real", []moment{real, stopCall(11000)}, LeftAlone},
		{"a stop call after something real was over", []moment{real, realOver, stopCall(11000)}, ActedOn},
		{"what would make it worse", []moment{worse(11000)}, ActedOn},
		{"the same for an item", []moment{on(11000, logbook.Entry{Kind: logbook.Worse, Injection: "walker#1", Item: "a", Text: "bad"})}, LeftAlone},
	} {
		parts := append([]moment{shows(logbook.Caption, "light", true)}, c.parts...)
		r := played(sheetOf("a"), logbook.Complete, append(parts, over(20000, logbook.Handled, ""))...)
		if got := r.Injections[0].Outcome; got != c.want {
			t.Errorf("%s: %s; wanted %s", c.name, got, c.want)
		}
	}
}

// The first move is a right one or not; one press is one move, whatever the log says of it beside, and of that what is right counts,
// unless it made things worse. What comes after does not change it. Beside is what was pressed for neither it nor the flow.
func TestFirstMove(t *testing.T) {
	began := func(ms, began int, control string) moment {
		return on(ms, logbook.Entry{Kind: logbook.Stray, Control: control, Began: at(began)})
	}
	byItem := on(10500, logbook.Entry{Kind: logbook.Worse, Injection: "walker#1", Item: "a", Text: "bad"})
	for _, c := range []struct {
		name   string
		parts  []moment
		want   Diagnosis
		first  string
		beside int
	}{
		{"none", nil, NoMove, "", 0},
		{"the first action", []moment{act(11000, 1)}, DiagnosedRight, "", 0},
		{"the second action", []moment{act(11000, 2)}, DiagnosedWrong, "second", 0},
		{"the second action, the first set already", []moment{already(1), act(11000, 2)}, DiagnosedRight, "", 0},
		{"the second action, moved into place", []moment{on(11000, logbook.Entry{Kind: logbook.Moved, Seat: logbook.Trainee, Control: "transponder"}), act(11000, 2)}, DiagnosedWrong, "second", 0},
		{"both in one press", []moment{act(11000, 2), act(11000, 1)}, DiagnosedRight, "", 0},
		{"the second, and right as well", []moment{act(11000, 2), also(11000)}, DiagnosedRight, "", 0},
		{"right as well, and the second", []moment{also(11000), act(11000, 2)}, DiagnosedRight, "", 0},
		{"the second, then right as well", []moment{act(11000, 2), also(11500)}, DiagnosedWrong, "second", 0},
		{"right as well, then the second", []moment{also(11000), act(11500, 2)}, DiagnosedRight, "", 0},
		{"one that nothing wanted, and is right all the same", []moment{stray(11000, "gen1", "q"), act(11000, 1)}, DiagnosedRight, "", 0},
		{"one that nothing wanted, then the right one", []moment{stray(11000, "gen1", "q"), act(11500, 1)}, DiagnosedWrong, "gen1", 0},
		{"the right one, then one that nothing wanted", []moment{act(11000, 1), stray(11500, "gen1", "q")}, DiagnosedRight, "", 1},
		{"the right one, and in the same press one that nothing wanted", []moment{act(11000, 1), stray(11000, "gen1", "q")}, DiagnosedRight, "", 0},
		{"two in one press that nothing wanted", []moment{stray(11000, "gen1", "q"), stray(11000, "gen2", "q")}, DiagnosedWrong, "gen1", 0},
		{"two that nothing wanted", []moment{stray(11000, "gen1", "q"), stray(11500, "gen2", "w")}, DiagnosedWrong, "gen1", 1},
		{"answers that nobody asked for", []moment{act(11000, 1), stray(11500, "", "enter"), stray(12000, "", "backspace")}, DiagnosedRight, "", 2},
		{"keys that do nothing", []moment{act(11000, 1), stray(11500, "", "."), stray(12000, "", "tab")}, DiagnosedRight, "", 0},
		{"the lever on its way", []moment{stray(11000, "collective", "z"), act(11500, 1)}, DiagnosedRight, "", 0},
		{"worse", []moment{worse(11000)}, DiagnosedWrong, "collective", 0},
		{"worse, and in the same press the right one", []moment{worse(11000), act(11000, 1)}, DiagnosedWrong, "collective", 0},
		{"the right one, and worse in the same press", []moment{act(11000, 1), worse(11000)}, DiagnosedWrong, "collective", 0},
		{"the right one, then worse", []moment{act(11000, 1), worse(12000)}, DiagnosedRight, "", 0},
		{"worse, then the right one", []moment{worse(11000), act(12000, 1)}, DiagnosedWrong, "collective", 0},
		{"worse for an item, then the right one", []moment{byItem, act(11000, 1)}, DiagnosedRight, "", 0},
		{"under way as it began", []moment{stray(10099, "gen1", "q"), act(11000, 1)}, DiagnosedRight, "", 0},
		{"as soon as a hand can react", []moment{stray(10100, "gen1", "q"), act(11000, 1)}, DiagnosedWrong, "gen1", 0},
		{"a long press that was under way", []moment{act(11000, 1), began(11500, 10099, "gen1")}, DiagnosedRight, "", 0},
		{"a long press that was not", []moment{act(11000, 1), began(11500, 10100, "gen1")}, DiagnosedRight, "", 1},
		{"an item, over it", []moment{doneBy(11000, "a", logbook.Trainee), act(12000, 1)}, DiagnosedRight, "", 0},
		{"an item, once it was noticed", []moment{stopCall(10500), doneBy(11000, "a", logbook.Trainee), act(12000, 1)}, DiagnosedWrong, "a", 0},
		{"a check, once it was noticed", []moment{stopCall(10500), doneBy(11000, "c", logbook.Trainee), act(12000, 1)}, DiagnosedRight, "", 0},
		{"an item of the other pilot's", []moment{stopCall(10500), doneBy(11000, "a", logbook.Pilot), act(12000, 1)}, DiagnosedRight, "", 0},
		{"an item that nobody knows", []moment{stopCall(10500), doneBy(11000, "?", logbook.Trainee), act(12000, 1)}, DiagnosedRight, "", 0},
		{"an item by the press of an action", []moment{stopCall(10500), doneBy(11000, "a", logbook.Trainee), act(11000, 1)}, DiagnosedRight, "", 0},
		{"an action by the press of an item", []moment{stopCall(10500), act(11000, 1), doneBy(11000, "a", logbook.Trainee)}, DiagnosedRight, "", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("ac")
			sheet.Items[1].Kind = procedure.Check
			parts := append([]moment{shows(logbook.Horn, "low_nr", false)}, c.parts...)
			in := played(sheet, logbook.Complete, append(parts, over(30000, logbook.Lost, logbook.Timeout))...).Injections[0]
			if in.Diagnosis != c.want || in.FirstMove != c.first || in.Beside != c.beside {
				t.Errorf("%s, %q, %d beside; wanted %s, %q, %d", in.Diagnosis, in.FirstMove, in.Beside, c.want, c.first, c.beside)
			}
		})
	}
	for _, name := range []string{"never seen", "a look-alike"} {
		put := shows(logbook.Horn, "gong", true)
		if name == "never seen" {
			put = on(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
		}
		if in := played(sheetOf(""), logbook.Complete, put, stray(11000, "gen1", "q"), over(30000, logbook.Lost, logbook.Unseen)).Injections[0]; in.Diagnosis != "" || in.FirstMove != "" {
			t.Errorf("%s: %s, %q", name, in.Diagnosis, in.FirstMove)
		}
	}
}

// What was done over it is told apart: before it was noticed, whoever did it, and by the trainee after that. The press by which it
// was noticed, and one that belonged to it, are neither.
func TestDoneOverIt(t *testing.T) {
	refused := on(11000, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.No, Truth: logbook.No, OK: true})
	for _, c := range []struct {
		name         string
		parts        []moment
		letGo, early int
	}{
		{"before", []moment{doneBy(11000, "a", ""), stopCall(12000)}, 1, 0},
		{"before, by the other pilot", []moment{doneBy(11000, "a", logbook.Pilot), stopCall(12000)}, 1, 0},
		{"after", []moment{stopCall(11000), doneBy(12000, "a", "")}, 0, 1},
		{"after, by the other pilot", []moment{stopCall(11000), doneBy(12000, "a", logbook.Pilot)}, 0, 0},
		{"after it was told", []moment{tell(11000), doneBy(12000, "a", "")}, 0, 1},
		{"by the refusal that noticed it", []moment{refused, doneBy(11000, "a", "")}, 0, 0},
		{"by the press that noticed it", []moment{doneBy(11000, "a", ""), act(11000, 1)}, 0, 0},
		{"by a press that belonged to it", []moment{stopCall(10500), doneBy(11000, "a", ""), act(11000, 1)}, 0, 0},
		{"by a press that had belonged to it", []moment{stopCall(10500), act(11000, 1), doneBy(11000, "a", "")}, 0, 0},
		{"after a press that belonged to it", []moment{stopCall(10500), act(11000, 1), doneBy(11500, "a", "")}, 0, 1},
	} {
		parts := append([]moment{shows(logbook.Horn, "low_nr", false)}, c.parts...)
		in := played(sheetOf("a"), logbook.Complete, append(parts, over(30000, logbook.Lost, logbook.Timeout))...).Injections[0]
		if len(in.LetGo) != c.letGo || len(in.Early) != c.early {
			t.Errorf("%s: let go %q, early %q; wanted %d and %d", c.name, in.LetGo, in.Early, c.letGo, c.early)
		}
	}
	in := played(sheetOf("a"), logbook.Complete, shows(logbook.Horn, "gong", true), doneBy(11000, "a", ""), over(30000, logbook.Handled, "")).Injections[0]
	if len(in.LetGo)+len(in.Early) != 0 {
		t.Errorf("a look-alike: let go %q, early %q", in.LetGo, in.Early)
	}
}

// From when something is noticed nobody asks: what was being asked has no reaction, unless it is what the trainee answered. A
// look-alike, and what nobody saw, leave the reaction as it was.
func TestReactionsAcrossAnAbnormal(t *testing.T) {
	refuse := on(12000, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.No, Truth: logbook.No, OK: true})
	for _, c := range []struct {
		name     string
		harmless bool
		parts    []moment
		timed    bool
	}{
		{"the answer was how it was noticed", false, []moment{refuse, doneBy(12000, "a", "")}, true},
		{"answered before it was noticed", false, []moment{doneBy(11500, "a", ""), stopCall(12000)}, true},
		{"answered after it was noticed", false, []moment{act(11500, 1), doneBy(12000, "a", "")}, false},
		{"answered after the stop call that named it", false, []moment{on(11500, logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee, Item: "a"}), doneBy(12000, "a", "")}, false},
		{"answered after it was over", false, []moment{over(11500, logbook.Lost, logbook.Timeout), doneBy(12000, "a", "")}, false},
		{"answered over a look-alike", true, []moment{act(11500, 1), doneBy(12000, "a", "")}, true},
		{"answered after a look-alike", true, []moment{over(11500, logbook.Handled, ""), doneBy(12000, "a", "")}, true},
	} {
		sheet := sheetOf("a")
		sheet.Spoken = true
		parts := append([]moment{shows(logbook.Sight, "walker", c.harmless), func(w *scribe) { w.cue = 1 }, asked(11000, "a")}, c.parts...)
		if it := played(sheet, logbook.Complete, parts...).Items[0]; (it.ReactionMS != nil) != c.timed {
			t.Errorf("%s: reaction %v; wanted one: %v", c.name, it.ReactionMS, c.timed)
		}
	}
	unseen := on(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
	if it := played(sheetOf("a"), logbook.Complete, unseen, asked(11000, "a"), over(11500, logbook.Lost, logbook.Unseen), doneBy(12000, "a", "")).Items[0]; it.ReactionMS == nil {
		t.Error("something that nobody saw took the reaction away")
	}
}

// What became of an abnormal, by how the sitting ended over it and whether it was noticed. With a caption to notice it by it has to
// be there for 6 s, twice the par, before anybody can be said not to have noticed.
func TestEndedOverAnAbnormal(t *testing.T) {
	const through, hardly = 16000, 15999
	for _, c := range []struct {
		name    string
		end     logbook.Reason
		parts   []moment
		until   int
		open    bool // the log gives it no end
		want    Outcome
		counted bool
	}{
		{"through to the end", logbook.Complete, nil, through, true, NotNoticed, true},
		{"through to the end, hardly begun", logbook.Complete, nil, hardly, true, Unended, false},
		{"through to the end, told", logbook.Complete, []moment{tell(11000)}, through, true, Unended, true},
		{"through to the end, noticed", logbook.Complete, []moment{stopCall(11000)}, through, true, Unended, true},
		{"through to the end, noticed, hardly begun", logbook.Complete, []moment{stopCall(11000)}, hardly, true, Unended, false},
		{"broken off", logbook.Outside, nil, through, true, Unended, false},
		{"broken off, noticed", logbook.Outside, []moment{stopCall(11000)}, through, true, Unended, false},
		{"an inspection", logbook.Inspection, nil, through, true, NotNoticed, true},
		{"an inspection, noticed", logbook.Inspection, []moment{stopCall(11000)}, through, true, Unended, true},
		{"a refusal, noticed", logbook.Refused, []moment{stopCall(11000)}, through, true, Unended, false},
		{"a refusal, left open", logbook.Refused, nil, through, false, NotNoticed, true},
		{"a refusal, left open, hardly begun", logbook.Refused, nil, hardly, false, LeftOpen, true},
		{"a refusal, left open, noticed", logbook.Refused, []moment{stopCall(11000)}, through, false, LeftOpen, true},
		{"a refusal, left open, told", logbook.Refused, []moment{tell(11000)}, through, false, LeftOpen, true},
		{"not right, left open", logbook.NotRight, nil, through, false, NotNoticed, true},
		{"not right, left open, hardly begun", logbook.NotRight, nil, hardly, false, NotNoticed, true},
		{"not right, left open, noticed", logbook.NotRight, []moment{stopCall(11000)}, through, false, LeftOpen, true},
		{"not right, left open, told", logbook.NotRight, []moment{tell(11000)}, through, false, LeftOpen, true},
	} {
		parts := append([]moment{shows(logbook.Caption, "light", false)}, c.parts...)
		if c.open {
			parts = append(parts, func(w *scribe) { w.now = at(c.until) - time.Second }) // it ends a second later
		} else {
			parts = append(parts, over(c.until, logbook.Lost, logbook.LeftOpen))
		}
		r := played(sheetOf("a"), c.end, parts...)
		if got := r.Injections[0].Outcome; got != c.want || r.Handling.Count == 1 != c.counted {
			t.Errorf("%s: %s, counted %d; wanted %s, %v", c.name, got, r.Handling.Count, c.want, c.counted)
		}
	}
}

// Where everything stood right already there was nothing to be noticed, unless somebody did notice, or was told. What ends by
// itself, with nothing that had to stand right, was not noticed.
func TestStoodRight(t *testing.T) {
	bare := &scenario.Abnormal{Name: "walker", Title: "Nothing to do", Handled: "nr > 97"}
	for _, c := range []struct {
		name  string
		ab    *scenario.Abnormal
		parts []moment
		end   logbook.Kind
		want  Outcome
	}{
		{"all of it", nil, []moment{already(1), already(2)}, logbook.Handled, Stood},
		{"all of it, and noticed", nil, []moment{already(1), already(2), stopCall(11000)}, logbook.Handled, Handled},
		{"all of it, and told", nil, []moment{already(1), already(2), tell(11000)}, logbook.Handled, ToldFirst},
		{"all of it, and lost", nil, []moment{already(1), already(2)}, logbook.Lost, NotNoticed},
		{"one of two", nil, []moment{already(1)}, logbook.Handled, NotNoticed},
		{"nothing to do", bare, nil, logbook.Handled, NotNoticed},
		{"nothing to do, and noticed", bare, []moment{stopCall(11000)}, logbook.Handled, Handled},
	} {
		sheet := sheetOf("")
		if c.ab != nil {
			sheet.Abnormals["walker"] = c.ab
		}
		parts := append([]moment{shows(logbook.Caption, "light", false)}, c.parts...)
		if got := played(sheet, logbook.Complete, append(parts, over(30000, c.end, ""))...).Injections[0].Outcome; got != c.want {
			t.Errorf("%s: %s; wanted %s", c.name, got, c.want)
		}
	}
}

// A horn that was silenced with nothing else done is told as that; where nothing else was left to do, or nobody knows what would
// have been done, it is not.
func TestSilencedAndNothingElse(t *testing.T) {
	quiet := walker(false)
	quiet.Actions[0].Silence = true
	for _, c := range []struct {
		name  string
		ab    *scenario.Abnormal
		parts []moment
		want  bool
	}{
		{"silenced", nil, []moment{silence(11000, "low_nr"), over(30000, logbook.Lost, "")}, true},
		{"silenced, as one of the actions", quiet, []moment{silence(11000, "low_nr"), act(11000, 1), over(30000, logbook.Lost, "")}, true},
		{"silenced, and the action beside that", quiet, []moment{silence(11000, "low_nr"), act(11000, 1), act(12000, 2), over(30000, logbook.Lost, "")}, false},
		{"silenced, one of two done", nil, []moment{silence(11000, "low_nr"), act(12000, 2), over(30000, logbook.Lost, "")}, false},
		{"silenced, one of two set already", nil, []moment{already(1), silence(11000, "low_nr"), over(30000, logbook.Lost, "")}, true},
		{"silenced, both set already", nil, []moment{already(1), already(2), silence(11000, "low_nr"), over(30000, logbook.Lost, "")}, false},
		{"silenced as the sitting ended", nil, []moment{silence(11000, "low_nr")}, false},
		{"not silenced", nil, []moment{over(30000, logbook.Lost, "")}, false},
	} {
		sheet := sheetOf("")
		if c.ab != nil {
			sheet.Abnormals["walker"] = c.ab
		}
		r := played(sheet, logbook.Complete, append([]moment{shows(logbook.Horn, "low_nr", false)}, c.parts...)...)
		if got := r.Injections[0].SilencedOnly; got != c.want || r.Handling.SilencedOnly == 1 != c.want {
			t.Errorf("%s: %v; wanted %v", c.name, got, c.want)
		}
	}
	alike := played(sheetOf(""), logbook.Complete, shows(logbook.Horn, "low_nr", true), silence(11000, "low_nr"), over(20000, logbook.Handled, ""))
	if alike.Injections[0].SilencedOnly {
		t.Error("a look-alike whose horn was silenced wanted nothing else")
	}
}
