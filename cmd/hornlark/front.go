package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/cmd/hornlark/screen"
	"hornlark/drill/debrief"
	"hornlark/drill/record"
)

// The keys of the first screen.
const (
	keyTonight  = "enter"
	keyDay      = "d"
	keySittings = "r"
	keyLimits   = "l"
	keyWhole    = "f"
	keySeat     = "n"
	keyMore     = "+"
	keyLess     = "-"
	keyPage     = "p"
)

// evenings are the lengths between which "+" and "-" go, in minutes.
var evenings = []int{5, 10, 15, 20, 25, 30, 45, 60, 90, 120, 180}

// front is what the first screen goes by.
type front struct {
	streams           // of the commands that it leads to
	told     *notices // what is told while the screen is up
	trainee  string   // who sits here
	settled  bool     // that this is who, or nobody, has been said by the trainee
	aim      aim      // of the trainee
	evening  *session // what tonight would be
	trouble  error    // why there is none
	sittings []record.Summary
	people   []string // that are known from the records
	sound    string   // what the sound check found
	browser  bool     // there is one here
	page     bool     // what comes next is sat on a page in it
}

// notices are lines to be told on the screen and not beside it.
type notices struct{ bytes.Buffer }

// lines gives them, and there are none any more.
func (n *notices) lines() []string {
	text := strings.TrimSpace(n.String())
	n.Reset()
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}

// welcome is the first screen. What is chosen there is carried out like a command.
func welcome(ctx context.Context, s streams) error {
	f := &front{streams: s, told: new(notices), browser: desktop(runtime.GOOS, os.Getenv)}
	f.page = f.browser && prefersPage()
	is, err := remembered()
	if err != nil {
		fmt.Fprintln(f.told, err)
	}
	f.sit(is, is != "")
	for {
		w := screen.Welcome{Version: version, Front: f.front(), Act: f.act, SoundCheck: soundCheck, Sound: f.sound}
		chosen, err := w.Run(ctx, screen.Options{})
		for _, line := range f.told.lines() { // that came too late for it
			fmt.Fprintln(s.err, line)
		}
		if f.sound = chosen.Sound; err != nil {
			return err
		}
		switch chosen.Key {
		case keyTonight, keyLimits:
			return tonight(ctx, f.tonight(chosen.Key == keyLimits))
		case keyWhole:
			o := f.drill()
			o.scenario = suggested
			return drillRun(ctx, &o)
		case keyDay:
			err = f.showPlan(ctx)
		case keySittings:
			err = f.showSittings(ctx)
		default:
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// drill is what a sitting that is begun here is begun with.
func (f *front) drill() drillOptions {
	return drillOptions{
		streams: f.streams, layout: string(screen.QWERTY), trainee: f.trainee, nobody: f.trainee == "", seated: true, panel: f.page, open: f.page,
	}
}

// tonight is the evening that is begun here.
func (f *front) tonight(limits bool) *tonightOptions {
	return &tonightOptions{drillOptions: f.drill(), minutes: f.aim.evening(), timed: true, limits: limits, said: true}
}

// quiet are streams for what is done while the screen is up.
func (f *front) quiet() streams {
	s := f.streams
	s.out, s.err = f.told, f.told
	return s
}

// sit has somebody sit here.
func (f *front) sit(trainee string, settled bool) {
	f.trainee, f.settled = trainee, settled
	var err error
	if f.aim, err = aimOf(trainee); err != nil {
		fmt.Fprintln(f.told, err)
	}
	f.look()
	f.choose()
}

// look finds out what is kept. Records are not made for it.
func (f *front) look() {
	f.sittings, f.people = nil, nil
	if !recordsThere() {
		return
	}
	store, err := openRecords(f.quiet())
	if err != nil {
		fmt.Fprintln(f.told, err)
		return
	}
	defer store.Close()
	all, err := store.Summaries(record.Filter{Trainee: f.trainee})
	if err != nil {
		fmt.Fprintln(f.told, err)
	}
	f.sittings = slices.DeleteFunc(all, func(s record.Summary) bool { return s.Trainee != f.trainee })
	f.people, _ = store.Trainees()
}

// choose finds out what helps most in the minutes there are.
func (f *front) choose() {
	o := f.tonight(false)
	o.streams = f.quiet()
	f.evening = &session{options: o, at: recordsNow()}
	f.trouble = f.evening.open()
}

// front is what the screen says and offers.
func (f *front) front() screen.Front {
	who := "Nobody's: sittings are kept without a name."
	if f.trainee != "" {
		who = f.trainee + " sits here."
	}
	front := screen.Front{Who: who, Next: f.next(), Notices: f.told.lines()}
	front.Choices = []screen.Choice{
		{Key: keyTonight, Text: fmt.Sprintf("tonight: what helps most in %d min", f.aim.evening())},
		{Key: keyDay, Text: f.untilTheDay(), Ask: &screen.Ask{
			Prompt: "Until which day?", Given: f.aim.By, Check: f.checkDay,
			Hint: "Such as that of a simulator session, like 2027-03-12. You are shown what to practise on each day until then. Empty: no day.",
		}},
		{Key: keySittings, Text: f.sat()},
		{Key: keyLimits, Text: "limits: the figures of the aircraft, asked and typed"},
		{Key: keyWhole, Text: "the whole first start: every challenge spoken, with interruptions"},
		{Key: keySeat, Text: "somebody else sits here", Ask: &screen.Ask{
			Prompt: "Who sits here?", Known: f.people, Must: !f.settled, Check: record.CheckTrainee,
			Hint: "Type a name, then Enter: sittings are kept under it, and what comes next is chosen by them. Enter alone: they are kept without a name.",
		}},
	}
	if f.browser {
		where := "on a page: have what comes next sat in the browser"
		if f.page {
			where = "on a page: yes, it is sat in the browser; p again: here"
		}
		front.Choices = append(front.Choices, screen.Choice{Key: keyPage, Text: where})
	}
	if front.Hints = []string{"hornlark list       what else is built in", "hornlark ready      whether it is enough", "hornlark --help     all commands"}; recordsMoved() != 0 {
		front.Hints = append([]string{"As of " + clockTime(recordsNow()) + asOf(recordsMoved()) + "."}, front.Hints...)
	}
	if !f.settled {
		front.Asking = keySeat
	}
	return front
}

// next says in a line what comes next, and why. It names no abnormal.
func (f *front) next() string {
	var usage usageError
	var short tooShort
	switch {
	case errors.As(f.trouble, &usage) && errors.As(usage.error, &short):
		return fmt.Sprintf("Next: nothing can be gone through in %d min; it takes %d. + gives more.", short.minutes, short.takes)
	case f.trouble != nil:
		return "Next: " + f.trouble.Error()
	}
	return f.evening.next()
}

// untilTheDay says what the plan is about.
func (f *front) untilTheDay() string {
	day, err := time.ParseInLocation(time.DateOnly, f.aim.By, recordsNow().Location())
	if err != nil {
		return "until the day: what to practise until a day that you name"
	}
	switch days := daysBetween(recordsNow(), day); {
	case days > 0:
		return fmt.Sprintf("until %s, in %s: what to practise on each of them", day.Format("Mon 2 Jan 2006"), debrief.Count(days, "day"))
	case days == 0:
		return "until the day: it is today; name another"
	}
	return fmt.Sprintf("until the day: %s has gone by; name another", day.Format("Mon 2 Jan 2006"))
}

// sat says what sittings there are.
func (f *front) sat() string {
	if len(f.sittings) == 0 {
		return "the sittings: none yet"
	}
	latest := &f.sittings[len(f.sittings)-1]
	return fmt.Sprintf("the sittings: %d, the latest %s", len(f.sittings), clockTime(latest.Started))
}

// checkDay says what is wrong with a day.
func (f *front) checkDay(day string) error {
	if day == "" {
		return nil
	}
	_, err := planDays(&planOptions{by: day, at: planAt, minutes: planMinutes}, recordsNow())
	if err != nil {
		return errors.New(strings.ReplaceAll(err.Error(), "--by ", ""))
	}
	return nil
}

// act does what needs no other screen, and says whether the screen ends for what does.
func (f *front) act(key, answer string) (screen.Front, bool) {
	ends := true
	switch key {
	case keySeat:
		ends = false
		if err := remember(answer); err != nil {
			fmt.Fprintln(f.told, err)
		}
		f.sit(answer, true)
	case keyMore, keyLess:
		ends = false
		f.turn(key == keyMore)
	case keyPage:
		ends = false
		f.page = !f.page
		if err := keepPage(f.page); err != nil {
			fmt.Fprintln(f.told, err)
		}
	case keyDay:
		f.aim.By = answer
		f.keepAim()
		ends = answer != ""
	case keySittings:
		ends = len(f.sittings) > 0
	case keyTonight:
		ends = f.trouble == nil
	}
	return f.front(), ends
}

// turn makes the evening longer or shorter.
func (f *front) turn(longer bool) {
	is := f.aim.evening()
	to := is
	if i := slices.IndexFunc(evenings, func(m int) bool { return m > is }); longer && i >= 0 {
		to = evenings[i]
	}
	for _, m := range evenings {
		if !longer && m < is {
			to = m
		}
	}
	if to == is {
		return
	}
	f.aim.Minutes = to
	f.keepAim()
	f.choose()
}

func (f *front) keepAim() {
	if err := keepAim(f.aim); err != nil {
		fmt.Fprintln(f.told, err)
	}
}

// showPlan shows the plan until the day.
func (f *front) showPlan(ctx context.Context) error {
	o := &planOptions{streams: f.quiet(), trainee: f.trainee, by: f.aim.By, at: planAt, minutes: f.aim.evening(), rest: f.aim.Rest}
	p, err := o.layOut()
	if err != nil {
		fmt.Fprintln(f.told, err)
		return nil
	}
	lines := p.text()
	_, err = screen.Report{Title: lines[0], Lines: lines[1:]}.Run(ctx, screen.Options{})
	return err
}

// showSittings shows the sittings, and the report on those that are picked.
func (f *front) showSittings(ctx context.Context) error {
	list := screen.List{Title: "SITTINGS of " + someone(f.trainee), Head: sittingLine("no", "begun", "end", "right", "reaction", "scenario")}
	var ids []int64
	for _, s := range slices.Backward(f.sittings) {
		l := lineOf(s)
		ids = append(ids, s.ID)
		list.Lines = append(list.Lines, sittingLine(strconv.FormatInt(l.ID, 10), l.Started, l.Verdict, l.Right, l.Reaction, l.Scenario))
	}
	for {
		i, err := list.Run(ctx, screen.Options{})
		if err != nil || i < 0 {
			return err
		}
		list.At = i
		err = withKept(f.quiet(), []string{strconv.FormatInt(ids[i], 10)}, func(k *keptSitting) error { return k.onScreen(ctx, f.quiet()) })
		if ctx.Err() != nil {
			return err
		}
		if err != nil {
			fmt.Fprintln(f.told, err)
			return nil
		}
	}
}

// sittingLine puts the scenario last: its name may be long.
func sittingLine(id, begun, end, right, reaction, scenario string) string {
	return fmt.Sprintf("%3s %-16s %-10s %9s %12s  %s", id, begun, end, right, reaction, scenario)
}

// onScreen shows the report on a kept sitting, to be gone through moment by moment by whoever wants to.
func (k *keptSitting) onScreen(ctx context.Context, s streams) error {
	page := screen.Report{Title: titleOf(k.Ex.Bundle), Lines: k.report(s).text(k.Ex.Judge())[1:], Walks: true}
	for {
		walk, err := page.Run(ctx, screen.Options{})
		if err != nil || !walk {
			return err
		}
		if err := k.walk(ctx, s, false); err != nil {
			page.Lines = append([]string{"! it cannot be gone through: " + err.Error(), ""}, page.Lines...)
			page.Walks = false
		}
	}
}
