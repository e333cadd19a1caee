package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hornlark/drill/library"
)

// fronted is a first screen without a terminal, with records and settings of its own.
func fronted(t *testing.T, trainee string) (f *front, data string) {
	t.Helper()
	settled(t)
	data = t.TempDir()
	t.Setenv("HORNLARK_DATA", data)
	t.Setenv(clockVariable, "2027-03-05T19:00:00Z")
	t.Setenv("TZ", "UTC")
	f = &front{told: new(notices)}
	f.sit(trainee, trainee != "")
	return f, data
}

// What the first screen offers to whoever comes: nothing is asked of somebody who is known, somebody new is; every line has its place.
func TestWhatTheFirstScreenOffers(t *testing.T) {
	f, data := fronted(t, "")
	front := f.front()
	if front.Asking != keySeat {
		t.Errorf("somebody new is asked %q", front.Asking)
	}
	front, ends := f.act(keySeat, "kim")
	if is, err := remembered(); ends || front.Asking != "" || front.Who != "kim sits here." || is != "kim" || err != nil {
		t.Errorf("then it says %q and asks %q; %q is remembered, %v", front.Who, front.Asking, is, err)
	}
	if !strings.Contains(front.Next, "a first evening") || !strings.Contains(front.Next, "nothing goes wrong") {
		t.Errorf("next is %q", front.Next)
	}
	if _, ends := f.act(keySittings, ""); ends {
		t.Error("sittings are shown where there are none")
	}
	for _, key := range []string{keyTonight, keyLimits, keyWhole} {
		if _, ends := f.act(key, ""); !ends {
			t.Errorf("%q does not begin anything", key)
		}
	}
	if _, err := os.Stat(filepath.Join(data, "hornlark.db")); err == nil {
		t.Error("records were made")
	}
	for i := range 4 {
		if err := (&made{data: data, scenario: "first-start", trainee: "kim", started: time.Date(2027, 2, 20+i, 19, 0, 0, 0, time.UTC)}).keep(); err != nil {
			t.Fatal(err)
		}
	}
	front, _ = f.act(keySeat, "kim")
	if len(front.Choices) > 8 || strings.Contains(front.Next, "first evening") || !strings.Contains(front.Next, "Dunlin LT, automatic start") {
		t.Errorf("%d choices; next is %q", len(front.Choices), front.Next)
	}
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range lib.Abnormals() {
		if strings.Contains(front.Next, a.Title) {
			t.Errorf("%q is named: %q", a.Title, front.Next)
		}
	}
	if front, _ = f.act(keyDay, "2027-03-12"); front.Choices[1].Ask.Given != "2027-03-12" {
		t.Errorf("the day that is given is %q", front.Choices[1].Ask.Given)
	}
	for _, c := range front.Choices {
		if n := len([]rune(c.Text)); n > 80-2*2-8 {
			t.Errorf("%q has no room on 80 columns", c.Text)
		}
	}
	if _, ends := f.act(keySittings, ""); !ends {
		t.Error("the sittings are not shown")
	}
	if front, _ = f.act(keySeat, ""); front.Asking != "" || !strings.Contains(front.Who, "without a name") {
		t.Errorf("without a name it says %q and asks %q", front.Who, front.Asking)
	}
	if d := f.drill(); !d.nobody || !d.seated || d.trainee != "" {
		t.Errorf("a drill is begun with %+v", d)
	}
}

// The minutes go up and down between bounds, the plan's stay, and both are kept for the trainee. What nothing fits into is said.
func TestMinutesOfTheFirstScreen(t *testing.T) {
	f, _ := fronted(t, "kim")
	minutes := func(want int) {
		t.Helper()
		if got := f.aim.evening(); got != want {
			t.Errorf("%d minutes, want %d", got, want)
		}
	}
	minutes(tonightMinutes)
	f.act(keyMore, "")
	minutes(20)
	for range len(evenings) {
		f.turn(true)
	}
	minutes(mostMinutes)
	for range len(evenings) + 1 {
		f.turn(false)
	}
	minutes(evenings[0])
	f.aim.Minutes = 17
	f.turn(false)
	minutes(15)
	f.aim.Minutes = 240 // of a plan
	minutes(mostMinutes)
	f.turn(true)
	if f.aim.Minutes != 240 {
		t.Errorf("the minutes of the plan have become %d", f.aim.Minutes)
	}
	f.aim.Minutes = 17
	f.turn(true)
	f.sit("kim", true)
	minutes(20)
	f.sit("lee", true)
	minutes(tonightMinutes)

	f.trouble = usageError{tooShort{1, 2}}
	if got := f.front().Next; got != "Next: nothing can be gone through in 1 min; it takes 2. + gives more." {
		t.Errorf("it says %q", got)
	}
	if _, ends := f.act(keyTonight, ""); ends {
		t.Error("an evening is begun that there is no time for")
	}
}

// The day is checked as it is typed, told of as it comes nearer, and forgotten if it is taken away.
func TestDayOfTheFirstScreen(t *testing.T) {
	f, _ := fronted(t, "kim")
	for day, want := range map[string]string{"": "", "2027-03-12": "", "Friday": "is no day", "2027-03-05": "is today", "2027-01-01": "has gone by", "2029-01-01": "a plan reaches"} {
		err := f.checkDay(day)
		if (want == "") != (err == nil) || err != nil && (!strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "--")) {
			t.Errorf("%q: %v, want %q", day, err, want)
		}
	}
	for day, want := range map[string]string{
		"": "a day that you name", "2027-03-12": "until Fri 12 Mar 2027, in 7 days:", "2027-03-06": "in 1 day:", "2027-03-05": "it is today", "2027-03-04": "has gone by",
	} {
		f.aim.By = day
		if got := f.untilTheDay(); !strings.Contains(got, want) {
			t.Errorf("%q: %q, want %q", day, got, want)
		}
	}
	if _, ends := f.act(keyDay, "2027-03-12"); !ends {
		t.Error("no plan is shown")
	}
	if is, err := aimOf("kim"); err != nil || is.By != "2027-03-12" {
		t.Errorf("kept is %+v, %v", is, err)
	}
	if _, ends := f.act(keyDay, ""); ends {
		t.Error("a plan is shown without a day")
	}
	if is, err := aimOf("kim"); err != nil || is.By != "" {
		t.Errorf("kept is %+v, %v", is, err)
	}
	path, err := aimsPath()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	if front, _ := f.act(keySeat, "lee"); len(front.Notices) != 1 || !strings.Contains(front.Notices[0], path) {
		t.Errorf("it is told %q", front.Notices)
	}
	if front := f.front(); len(front.Notices) != 0 {
		t.Errorf("it is told once more: %q", front.Notices)
	}
}
