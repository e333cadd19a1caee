package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"

	"hornlark/drill/library"
	"hornlark/drill/practice"
)

// planned is a first plan for a procedure from a moment on.
func planned(t *testing.T, now time.Time, o planOptions) *laidOut {
	t.Helper()
	days, err := planDays(&o, now)
	if err != nil {
		t.Fatal(err)
	}
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	p := &laidOut{options: &o, lib: lib, known: practice.NewKnown(practice.DefaultWeights), days: days}
	if err := p.choose(""); err != nil {
		t.Fatal(err)
	}
	p.Plan = practice.MakePlan(p.known, &p.course)
	return p
}

// The calendar is one by RFC 5545: lines end in CRLF and have at most 75 octets (section 3.1), and another reader finds each day's practice with
// what it needs (section 3.6.1), its text unescaped (3.3.11), also over the change of clocks in spring.
func TestCalendarIsReadByAnother(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip("no zones on this machine:", err)
	}
	now := time.Date(2027, 3, 24, 21, 30, 0, 0, berlin)
	p := planned(t, now, planOptions{by: "2027-04-02", minutes: 15, at: "18:30", rest: []string{"sun"}, trainee: "kim", procedure: "dunlin-start"})
	var first, second bytes.Buffer
	if err := p.calendar(&first); err != nil {
		t.Fatal(err)
	}
	if err := p.calendar(&second); err != nil || !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Errorf("the same plan makes two calendars: %v", err)
	}
	for line := range strings.SplitSeq(strings.TrimSuffix(first.String(), "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
			t.Errorf("%q has %d octets, or a line end of another kind", line, len(line))
		}
	}
	cal, err := ical.NewDecoder(&first).Decode()
	if err != nil {
		t.Fatal(err)
	}
	events := cal.Events()
	if len(events) != p.practised() || len(events) != 8 { // nine days, one of them a Sunday
		t.Fatalf("%d events for %d days of practice, want 8", len(events), p.practised())
	}
	uids := map[string]bool{}
	for i, e := range events {
		s := &p.Sessions[i]
		at, err := e.DateTimeStart(time.UTC)
		if err != nil || !at.Equal(s.Date) || at.In(berlin).Format("15:04") != "18:30" || at.In(berlin).Weekday() == time.Sunday {
			t.Errorf("event %d begins at %v, %v; want %v", i, at, err, s.Date)
		}
		if takes, err := e.Props.Get(ical.PropDuration).Duration(); err != nil || takes < time.Duration(s.Takes)*time.Second || takes > 15*time.Minute {
			t.Errorf("event %d takes %v, %v; want %.0f s, in whole minutes", i, takes, err, s.Takes)
		}
		if stamp, err := e.Props.DateTime(ical.PropDateTimeStamp, time.UTC); err != nil || !stamp.Equal(now) {
			t.Errorf("event %d is of %v, %v; want %v", i, stamp, err, now)
		}
		uid, err := e.Props.Text(ical.PropUID)
		if err != nil || uid == "" || uids[uid] {
			t.Errorf("event %d has the identity %q, %v, which is none or another's", i, uid, err)
		}
		uids[uid] = true
		if text, err := e.Props.Text(ical.PropDescription); err != nil || !strings.HasPrefix(text, "Practise: "+p.practice(s)+".\n") {
			t.Errorf("event %d says %q, %v; want %q", i, text, err, p.practice(s))
		}
	}
}

// A plan never says which abnormal is going to come, neither as text nor as JSON nor in the calendar.
func TestPlanNamesNoAbnormal(t *testing.T) {
	p := planned(t, day(24), planOptions{by: "2027-03-28", minutes: 20, at: "19:00", profile: "dunlin-lt"})
	var all bytes.Buffer
	if err := p.calendar(&all); err != nil {
		t.Fatal(err)
	}
	if err := printJSON(&all, p.json()); err != nil {
		t.Fatal(err)
	}
	all.WriteString(strings.Join(p.text(), "\n"))
	unfolded := strings.NewReplacer("\r\n ", "", "\n", " ").Replace(all.String())
	abnormals := 0
	for _, u := range p.course.Units {
		if u.Kind != practice.AbnormalUnit {
			continue
		}
		abnormals++
		if strings.Contains(unfolded, u.Name) || strings.Contains(unfolded, u.Title) {
			t.Errorf("the plan names %s (%s)", u.Name, u.Title)
		}
	}
	if abnormals == 0 || !strings.Contains(unfolded, " abnormals") {
		t.Errorf("%d abnormals are planned, and the plan does not count them", abnormals)
	}
}

func day(d int) time.Time { return time.Date(2027, 3, d, 18, 0, 0, 0, time.UTC) }

// TestPlanDays: which days are meant, and what is said where they cannot be.
func TestPlanDays(t *testing.T) {
	for name, test := range map[string]struct {
		o    planOptions
		days int
		want string // part of the error
	}{
		"tomorrow":        {planOptions{by: "2027-03-25"}, 1, ""},
		"in two days":     {planOptions{by: "2027-03-26", rest: []string{"Sat", " sun"}}, 2, ""},
		"a year":          {planOptions{by: "2028-03-24"}, 366, ""},
		"more":            {planOptions{by: "2028-03-25"}, 0, "reaches 366 days"},
		"today":           {planOptions{by: "2027-03-24"}, 0, "is today"},
		"yesterday":       {planOptions{by: "2027-03-23"}, 0, "has gone by"},
		"no day":          {planOptions{}, 0, "until when"},
		"no such day":     {planOptions{by: "2027-02-30"}, 0, "is no day"},
		"no such weekday": {planOptions{by: "2027-03-30", rest: []string{"someday"}}, 0, "no day of the week"},
		"no minutes":      {planOptions{by: "2027-03-30", minutes: -1}, 0, "nothing to plan with"},
		"no time":         {planOptions{by: "2027-03-30", at: "25:00"}, 0, "is no time"},
	} {
		if test.o.minutes == 0 {
			test.o.minutes = 20
		}
		if test.o.at == "" {
			test.o.at = "19:00"
		}
		span, err := planDays(&test.o, day(24))
		switch {
		case test.want == "" && (err != nil || span.days != test.days):
			t.Errorf("%s: %d days, %v; want %d", name, span.days, err, test.days)
		case test.want != "" && (err == nil || !strings.Contains(err.Error(), test.want)):
			t.Errorf("%s: %v, want %q", name, err, test.want)
		}
	}
}

// Practice on rest days alone, or in less time than anything takes, is answered plainly.
func TestNothingToPractise(t *testing.T) {
	p := planned(t, day(24), planOptions{by: "2027-03-25", minutes: 20, at: "19:00", rest: []string{"wed"}, profile: "dunlin-lt"})
	if text := strings.Join(p.text(), " "); !strings.Contains(text, "Every day until then is a day of rest") || len(p.Sessions) != 0 {
		t.Error(text)
	}
}

// TestPlanSpan: how many days there are, and on how many of them there is practice.
func TestPlanSpan(t *testing.T) {
	for want, o := range map[string]planOptions{
		"1 day until then, with practice of up to 20 min on each.":       {by: "2027-03-25", minutes: 20},
		"4 days until then, with practice of up to 15 min on each.":      {by: "2027-03-28", minutes: 15},
		"7 days until then, with practice of up to 15 min on 6 of them.": {by: "2027-03-31", minutes: 15, rest: []string{"sun"}},
		"1 day until then, without practice.":                            {by: "2027-03-25", minutes: 20, rest: []string{"wed"}},
	} {
		o.at, o.profile = "19:00", "dunlin-lt"
		if got := planned(t, day(24), o).words()[0]; got != want {
			t.Errorf("%q; want %q", got, want)
		}
	}
}
