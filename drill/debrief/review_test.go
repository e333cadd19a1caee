package debrief

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/practice"
	"hornlark/drill/score"
)

var reviewDay = time.Date(2027, 1, 4, 19, 0, 0, 0, time.UTC)

func reviewNames() *Called {
	item := func(name string) practice.Thing {
		return practice.Thing{Kind: score.TrialItem, Of: "start", Name: name}
	}
	return &Called{
		Things:     map[practice.Thing]string{item("bat"): "Battery", item("fuel"): "Fuel valve", {Kind: score.TrialNotice, Of: "lark", Name: "fire"}: "Engine fire"},
		Procedures: map[string]string{"start": "Lark, start", "lark-limits": "Lark, limits"},
		Date:       func(t time.Time) string { return t.Format(time.DateOnly) },
	}
}

// sat is a complete sitting, on so many days after the first, of items that took so many ms or, with none, were wrong.
func sat(day int, items ...any) practice.Past {
	p := practice.Past{Sitting: practice.Sitting{Began: reviewDay.AddDate(0, 0, day), Procedure: "start", Profile: "lark", Policy: "prompted"}, Complete: true, Passed: true}
	for i := 0; i < len(items); i += 2 {
		t := score.Trial{Kind: score.TrialItem, Name: items[i].(string), ParMS: 2000}
		if ms := float64(items[i+1].(int)); ms > 0 {
			t.Right, t.ReactionMS = true, &ms
		}
		p.Trials = append(p.Trials, t)
	}
	return p
}

func halted(p practice.Past) practice.Past {
	p.Complete, p.Passed = false, false
	return p
}

func under(policy string, p practice.Past) practice.Past {
	p.Policy = policy
	return p
}

func failed(p practice.Past) practice.Past {
	p.Passed = false
	return p
}

func met(p practice.Past, trials ...score.Trial) practice.Past {
	p.Trials = append(p.Trials, trials...)
	return p
}

// answersOf gives the answers of the series that was sat latest, by question; a second one to the same question follows the first.
func answersOf(past ...practice.Past) map[string]string {
	answers, question := map[string]string{}, ""
	for _, a := range reviewNames().Series(&practice.MakeReview(past).Series[0]) {
		if a.Question == "" {
			answers[question] += " " + a.Text
			continue
		}
		question = a.Question
		answers[question] = a.Text
	}
	return answers
}

// Sittings are named by their procedure and policy; limits say what they are by themselves, and what has no name goes by its id.
func TestKinByName(t *testing.T) {
	for want, k := range map[string]practice.Kin{
		"Lark, start, prompted": {Procedure: "start", Policy: "prompted"},
		"Lark, limits":          {Procedure: "lark-limits", Policy: "limits"},
		"wren-limits, limits":   {Procedure: "wren-limits", Policy: "limits"},
		"other, recall":         {Procedure: "other", Policy: "recall"},
	} {
		if got := reviewNames().Kin(k); got != want {
			t.Errorf("%+v is %q, want %q", k, got, want)
		}
	}
	if got := reviewNames().Thing(practice.Thing{Kind: score.TrialItem, Of: "stop", Name: "bat"}); got != "bat" {
		t.Errorf("an item of another procedure is called %q", got)
	}
}

// Then and now: what is said of the latest sitting, by what there is to compare it with.
func TestThenAndNow(t *testing.T) {
	a, b := sat(0, "bat", 2000, "fuel", 0), sat(1, "bat", 1500, "fuel", 1900)
	for name, test := range map[string]struct {
		past []practice.Past
		want string
	}{
		"one":            {[]practice.Past{a}, "There is one complete sitting, and nothing to compare it with yet."},
		"all incomplete": {[]practice.Past{halted(a), halted(b)}, "No sitting is complete, so none is compared."},
		"better": {[]practice.Past{failed(a), b},
			"The latest (2027-01-05) against the one before, which was the first (2027-01-04): of the same 2 items 1 right then, 2 now (1 more); median reaction 2.00 s then, 1.50 s now (0.50 s quicker; 1 timed in both); not passed then, passed now."},
		"worse": {[]practice.Past{sat(0, "bat", 1500, "fuel", 1900), failed(sat(1, "bat", 2000, "fuel", 0))},
			"The latest (2027-01-05) against the one before, which was the first (2027-01-04): of the same 2 items 2 right then, 1 now (1 fewer); median reaction 1.50 s then, 2.00 s now (0.50 s slower; 1 timed in both); passed then, not passed now."},
		"a tie, to the hundredth": {[]practice.Past{sat(0, "bat", 1500), sat(1, "bat", 1504)},
			"The latest (2027-01-05) against the one before, which was the first (2027-01-04): of the same 1 item 1 right then, 1 now (as many); median reaction 1.50 s then, 1.50 s now (as quick; 1 timed in both)."},
		"nothing timed in both": {[]practice.Past{sat(0, "bat", 0), sat(1, "bat", 900)},
			"The latest (2027-01-05) against the one before, which was the first (2027-01-04): of the same 1 item 0 right then, 1 now (1 more); no reaction that both have."},
		"nothing in common": {[]practice.Past{sat(0, "bat", 900), sat(1, "fuel", 900)},
			"The latest (2027-01-05) against the one before, which was the first (2027-01-04): they have nothing in common that was asked in both, so they are not compared."},
		"three": {[]practice.Past{sat(0, "bat", 3000), sat(1, "bat", 2000), sat(2, "bat", 1000)},
			"The latest (2027-01-06) against the one before (2027-01-05): of the same 1 item 1 right then, 1 now (as many); median reaction 2.00 s then, 1.00 s now (1.00 s quicker; 1 timed in both)." +
				" The latest (2027-01-06) against the first one (2027-01-04): of the same 1 item 1 right then, 1 now (as many); median reaction 3.00 s then, 1.00 s now (2.00 s quicker; 1 timed in both)."},
		"two procedures": {[]practice.Past{a, {Sitting: practice.Sitting{Began: reviewDay.AddDate(0, 0, 1), Procedure: "stop", Profile: "lark", Policy: "prompted", Trials: b.Trials}, Complete: true}},
			"There is one complete sitting, and nothing to compare it with yet."},
		"two policies": {[]practice.Past{a, under("recall", b)}, "There is one complete sitting, and nothing to compare it with yet."},
	} {
		if got := answersOf(test.past...)["then and now"]; got != test.want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, test.want)
		}
	}
	// Where nobody goes through items, it is about abnormals.
	fire := score.Trial{Kind: score.TrialNotice, Name: "fire", Right: true}
	want := "The latest (2027-01-05) against the one before, which was the first (2027-01-04): of the same 1 abnormal 1 right then, 1 now (as many); no reaction that both have."
	if got := answersOf(met(sat(0), fire), met(sat(1), fire)); got["then and now"] != want || len(got) != 3 {
		t.Errorf("of abnormals: %q", got)
	}
}

// Every verdict on speed and slips, by which way both went; the figures behind it follow.
func TestTogether(t *testing.T) {
	times := map[string][2]float64{"less": {0.6, 0.8}, "level": {0.9, 1.1}, "greater": {1.2, 1.5}}
	slips := map[string][2]float64{"less": {-0.2, -0.1}, "level": {-0.1, 0.1}, "greater": {0.1, 0.2}}
	for _, test := range []struct {
		times, slips string
		wrong        [2]int // then and now
		want         string
	}{
		{"less", "greater", [2]int{1, 9}, "Faster, but with more slips: this speed is no gain. Take the time until they are gone."},
		{"less", "less", [2]int{9, 1}, "Faster, and with fewer slips: no speed was bought with slips."},
		{"less", "level", [2]int{0, 0}, "Faster, and without a slip in the later half: no speed was bought with slips."},
		{"less", "level", [2]int{1, 0}, "Faster, and without a slip in the later half: no speed was bought with slips."},
		{"less", "level", [2]int{1, 1}, "Faster, and no more slips: nothing shows that speed was bought with them."},
		{"less", "level", [2]int{1, 2}, "Faster; there were more slips too, though no more than chance can make. Whether speed was bought with them cannot be told yet."},
		{"level", "greater", [2]int{1, 9}, "More slips, and neither faster nor slower beyond chance."},
		{"level", "less", [2]int{9, 1}, "Fewer slips, and neither faster nor slower beyond chance."},
		{"level", "level", [2]int{0, 0}, "Neither faster nor slower beyond chance; no slip in either half."},
		{"level", "level", [2]int{1, 1}, "Neither faster nor slower beyond chance; slips have not moved beyond chance."},
		{"level", "level", [2]int{0, 1}, "Neither faster nor slower beyond chance; slips have not moved beyond chance."},
		{"level", "level", [2]int{1, 0}, "Neither faster nor slower beyond chance; slips have not moved beyond chance."},
		{"greater", "greater", [2]int{1, 9}, "Slower, and with more slips."},
		{"greater", "less", [2]int{9, 1}, "Slower, and with fewer slips."},
		{"greater", "level", [2]int{0, 0}, "Slower; no slip in either half."},
		{"greater", "level", [2]int{2, 1}, "Slower; slips have not moved beyond chance."},
		{"", "greater", [2]int{1, 9}, "More slips; too few reactions to tell of speed."},
		{"", "less", [2]int{9, 1}, "Fewer slips; too few reactions to tell of speed."},
		{"", "level", [2]int{0, 0}, "Too few reactions to tell of speed; no slip in either half."},
		{"", "level", [2]int{1, 2}, "Too few reactions to tell of speed; slips have not moved beyond chance."},
	} {
		p := &practice.Pace{WrongThen: test.wrong[0], WrongNow: test.wrong[1], OfThen: 20, OfNow: 20, MoreLow: slips[test.slips][0], MoreHigh: slips[test.slips][1]}
		p.More = float64(p.WrongNow-p.WrongThen) / 20
		if r, ok := times[test.times]; ok {
			p.Timed, p.RatioLow, p.RatioHigh = practice.LeastTimed, r[0], r[1]
		}
		if got := together(p); got != test.want {
			t.Errorf("times %s, slips %s, %v: %q, want %q", test.times, test.slips, test.wrong, got, test.want)
		}
	}
}

func TestSpeedAndSlips(t *testing.T) {
	quick := func(day, ms int) practice.Past { return sat(day, "a", ms, "b", ms+10, "c", ms+20, "d", 0) }
	for name, test := range map[string]struct {
		past []practice.Past
		want string
	}{
		"three":             {[]practice.Past{quick(0, 2000), quick(1, 1900), quick(2, 1800)}, "Not told below 4 complete sittings; there are 3."},
		"none":              {[]practice.Past{halted(quick(0, 2000))}, "Not told below 4 complete sittings; there is none."},
		"nothing in common": {[]practice.Past{sat(0, "a", 1), sat(1, "a", 1), sat(2, "b", 1), sat(3, "b", 1)}, "Not told: the later half of the sittings asked nothing that the earlier half did."},
		"faster": {[]practice.Past{quick(0, 2000), quick(1, 2000), quick(2, 1000), quick(3, 1000), quick(4, 1000)}, // the middle one is in neither half
			"Faster, and no more slips: nothing shows that speed was bought with them. The later 2 against the earlier 2: reactions 0.50 times as long (95 % interval 0.50 to 0.51; 3 items), wrong 2 of 8 then, 2 of 8 now (0.0 percentage points more, 95 % interval -38.5 to 38.5)."},
		"two things to time": {[]practice.Past{sat(0, "a", 9), sat(1, "a", 9), sat(2, "a", 9), sat(3, "a", 9)},
			"Too few reactions to tell of speed; no slip in either half. The later 2 against the earlier 2: wrong 0 of 2 then, 0 of 2 now (0.0 percentage points more, 95 % interval -65.8 to 65.8)."},
	} {
		if got := answersOf(test.past...)["speed and slips"]; got != test.want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, test.want)
		}
	}
}

// The law is said to hold only where its interval says so.
func TestLearningInWords(t *testing.T) {
	for name, test := range map[string]struct {
		ms   []int
		want string
	}{
		"one":    {[]int{2000}, "Not supported: it takes 5 complete sittings with reactions to the same, and there is none."},
		"four":   {[]int{3000, 2500, 2200, 2000}, "Not supported: it takes 5 complete sittings with reactions to the same, and there are 4."},
		"falls":  {[]int{4000, 3031, 2577, 2297, 2101}, "Supported: T = 4.00 s x N^-0.40 (b 0.40, 95 % interval 0.40 to 0.40; R2 1.00, 5 sittings). Each doubling of practice takes a reaction to 76 % of what it was."},
		"level":  {[]int{2000, 2000, 2000, 2000, 2000}, "Not supported: the exponent b is 0.00, and its 95 % interval 0.00 to 0.00 has 0 in it (R2 0.00, 5 sittings)."},
		"rises":  {[]int{2101, 2297, 2577, 3031, 3600}, "Not supported: reactions get longer and not shorter (b -0.32, 95 % interval -0.54 to -0.10; R2 0.87, 5 sittings)."},
		"floors": {[]int{5500, 4139, 3570, 3241, 3023, 2865, 2744, 2649, 2570, 2505, 2449, 2401}, "Supported: T = 1.50 s + 4.00 s x N^-0.60 "},
	} {
		var past []practice.Past
		for day, ms := range test.ms {
			past = append(past, sat(day, "bat", ms))
		}
		if got := answersOf(past...)["learning curve"]; !strings.HasPrefix(got, test.want) {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, test.want)
		}
	}
}

// Times that were all as much practice show nothing, however many there are.
func TestLearningOfTheSamePractice(t *testing.T) {
	s := &practice.Series{Curve: practice.Curve{Power: practice.Power{Of: practice.LeastTimes}, Learning: practice.TooFewTimes}}
	if got, want := learning(s), "Not supported: the sittings do not differ in how much practice there was before."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Best and worst by name, and what is said where there are none, ties, and too many.
func TestBestAndWorstInWords(t *testing.T) {
	again := func(n int, items ...any) (past []practice.Past) {
		for day := range n {
			past = append(past, sat(day, items...))
		}
		return past
	}
	untimed := func(past []practice.Past) []practice.Past { // with an item that has nothing to time, and a name before the others
		for i := range past {
			past[i] = met(past[i], score.Trial{Kind: score.TrialItem, Name: "a", Right: true})
		}
		return past
	}
	for name, test := range map[string]struct {
		past                 []practice.Past
		worst, slowest, best string
	}{
		"once, all right": {again(1, "bat", 900, "x", 900),
			"None of 2 items was wrong of late (the latest 8 times of each at most).", "None of 2 items with reactions is slower than its par, by the median of late.", "Not told before an item was met 3 times."},
		"once, all wrong": {again(1, "bat", 0), "Battery (wrong 1 of 1).", "No item has a reaction.", "Not told before an item was met 3 times."},
		"three times": {again(3, "bat", 900, "fuel", 2500, "x", 0),
			"x (wrong 3 of the latest 3).", "Fuel valve (2.50 s, 1.25 times its par).", "Battery (right each of the latest 3, 0.45 times its par); Fuel valve (right each of the latest 3, 1.25 times its par)."},
		"never right": {again(3, "bat", 0), "Battery (wrong 3 of the latest 3).", "No item has a reaction.", "No item that was met 3 times or more was right each time of late."},
		"ties": {again(3, "a", 0, "b", 0, "c", 0, "d", 0, "e", 2400, "f", 2400, "g", 2400, "h", 2400),
			"a (wrong 3 of the latest 3); b (wrong 3 of the latest 3); c (wrong 3 of the latest 3); and 1 more that were wrong.",
			"e (2.40 s, 1.20 times its par); f (2.40 s, 1.20 times its par); g (2.40 s, 1.20 times its par); and 1 more that are slower than their par.",
			"e (right each of the latest 3, 1.20 times its par); f (right each of the latest 3, 1.20 times its par); g (right each of the latest 3, 1.20 times its par); and 1 more that were right each time of late."},
		"exactly its par": {again(3, "bat", 2000), "None of 1 item was wrong of late (the latest 8 times of each at most).",
			"None of 1 item with reactions is slower than its par, by the median of late.", "Battery (right each of the latest 3, 1.00 times its par)."},
		"three of each": {again(3, "a", 0, "b", 0, "c", 0), "a (wrong 3 of the latest 3); b (wrong 3 of the latest 3); c (wrong 3 of the latest 3).",
			"No item has a reaction.", "No item that was met 3 times or more was right each time of late."},
		"nothing to time in one": {untimed(again(3, "bat", 900)), "None of 2 items was wrong of late (the latest 8 times of each at most).",
			"None of 1 item with reactions is slower than its par, by the median of late.", "Battery (right each of the latest 3, 0.45 times its par); a (right each of the latest 3)."},
		"more than are looked at": {again(9, "bat", 900), "None of 1 item was wrong of late (the latest 8 times of each at most).",
			"None of 1 item with reactions is slower than its par, by the median of late.", "Battery (right each of the latest 8, 0.45 times its par)."},
	} {
		a := answersOf(test.past...)
		for question, want := range map[string]string{"worst": test.worst, "slowest": test.slowest, "best": test.best} {
			if a[question] != want {
				t.Errorf("%s, %s:\n%s\nwant\n%s", name, question, a[question], want)
			}
		}
	}
}

// classOf is progress of trainees whose sittings are given.
func classOf(past ...[]practice.Past) *Progress {
	p := &Progress{Called: *reviewNames()}
	var reviews []*practice.Review
	for i, list := range past {
		name := []string{"kim", "lee", "max"}[i]
		r := practice.MakeReview(list)
		p.People = append(p.People, Person{Name: name, Key: name, Sittings: len(list), Review: r})
		reviews = append(reviews, r)
	}
	p.Boards, p.Abnormals = practice.SideBySide(reviews), practice.AbnormalsSideBySide(reviews)
	return p
}

// What is said over trainees side by side.
func TestBoardsInWords(t *testing.T) {
	a := sat(0, "bat", 2000, "fuel", 0)
	for name, test := range map[string]struct {
		class *Progress
		want  string
	}{
		"both":        {classOf([]practice.Past{a}, []practice.Past{a}), "Passed is of those that are complete; then the latest complete sitting of each, over the 2 items that all of these asked, with the median reaction."},
		"one stopped": {classOf([]practice.Past{a}, []practice.Past{halted(a)}), "Only one has a complete sitting, over 2 items: there is nobody to compare it with."},
		"all stopped": {classOf([]practice.Past{halted(a)}, []practice.Past{halted(a)}), "Nobody has a complete sitting, so only how many there are is compared."},
		"no item in common": {classOf([]practice.Past{sat(0, "bat", 9)}, []practice.Past{sat(0, "fuel", 9)}),
			"The latest complete sittings have no item in common, so only how many there are is compared."},
	} {
		if got := test.class.Called.AboutBoard(&test.class.Boards[0]); got != test.want {
			t.Errorf("%s: %q, want %q", name, got, test.want)
		}
	}
	shared := &practice.AbnormalBoard{Shared: make([]practice.Thing, 2)}
	if got, want := AboutAbnormalBoard(shared), "Over the 2 abnormals that all of these have met, the latest 8 times of each at most."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := AboutAbnormalBoard(&practice.AbnormalBoard{}), "No abnormal was met by all who met any, so only how many there are is compared."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	alone := classOf([]practice.Past{a}, []practice.Past{under("recall", a)})
	alone.Class = true
	if text := strings.Join(strings.Fields(alone.Text(80)), " "); !strings.HasPrefix(text, NothingSideBySide) {
		t.Errorf("nobody to compare with: %s", text)
	}
}

// Names in another order take their places with them.
func TestSortTakesPlacesAlong(t *testing.T) {
	fire := score.Trial{Kind: score.TrialNotice, Name: "fire", Right: true}
	p := classOf([]practice.Past{met(sat(0, "bat", 1000), fire)}, []practice.Past{met(sat(0, "bat", 2000), fire, fire)})
	p.People[0].Name = "zoe"
	p.Sort()
	b := &p.Boards[0]
	if got := []string{p.BoardRow(b, &b.Rows[0])[0], p.BoardRow(b, &b.Rows[1])[0]}; !slices.Equal(got, []string{"lee", "zoe"}) || b.Rows[0].MS != 2000 {
		t.Errorf("%q, %+v", got, b.Rows)
	}
	if r := p.Abnormals.Rows; p.AbnormalBoardRow(&r[0])[0] != "lee" || r[0].Times != 2 || r[1].Times != 1 {
		t.Errorf("%+v", r)
	}
}

// The text has names and no ids, fits into its width, and says so of whoever has nothing to tell of.
func TestProgressText(t *testing.T) {
	told := []score.Trial{{Kind: score.TrialNotice, Name: "fire"}, {Kind: score.TrialActions, Name: "fire", Right: true, Told: true}}
	p := classOf([]practice.Past{met(sat(0, "bat", 900, "fuel", 0), told...)}, nil)
	p.People = append(p.People, Person{Name: "(no name)", Sittings: 1})
	text := p.Text(80)
	for _, want := range []string{
		"Lark, start, prompted: 1 sitting, 1 complete, 1 passed", "Fuel valve (wrong 1 of 1)", "Engine fire: right 0 of 1, 1 not noticed, 1 told first.",
		"No sitting has ended that can be judged", "Of sittings without a name nothing more is told",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("it does not say %q:\n%s", want, text)
		}
	}
	for line := range strings.Lines(text) {
		if len([]rune(strings.TrimRight(line, "\n"))) > 80 {
			t.Errorf("a line is too long: %q", line)
		}
		for _, id := range []string{"bat ", "fuel ", "fire:"} {
			if strings.Contains(line, id) && !strings.Contains(line, "Engine fire:") {
				t.Errorf("an id: %q", line)
			}
		}
	}
}

// As a table it is read back by another reader, every row with every column, each figure as it was.
func TestProgressTable(t *testing.T) {
	var past []practice.Past
	for day, ms := range []int{4000, 3031, 2577, 2297, 2101} {
		past = append(past, sat(day, "bat", ms, "fuel", ms, "=1+1", ms*min(day, 1)))
	}
	p := classOf(past, past[:1])
	p.Called.Things[practice.Thing{Kind: score.TrialItem, Of: "start", Name: "=1+1"}] = "=cmd"
	var out strings.Builder
	if err := p.Table(&out); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(out.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, r := range rows {
		if len(r) != len(ProgressColumns) || r[len(r)-1] == "" {
			t.Fatalf("%q", r)
		}
		lines = append(lines, strings.Join(r[:len(r)-1], "|"))
	}
	for _, want := range []string{
		"kim|series|start|lark|prompted||Lark, start|complete|5|5||",
		"kim|series|start|lark|prompted||Lark, start|right_before|3|3||",
		"kim|series|start|lark|prompted||Lark, start|right_now_first|3|3||",
		"kim|series|start|lark|prompted||Lark, start|learning|supported|5||",
		"kim|item|start|lark|prompted|bat|Battery|median_ms|2577|5||",
		"kim|item|start|lark|prompted|'=1+1|'=cmd|wrong|1|5||",
		"lee|series|start|lark|prompted||Lark, start|learning|too few|0||",
		"lee|side-by-side|start|lark|prompted||Lark, start|right|2|3||",
	} {
		if !slices.Contains(lines, want) {
			t.Errorf("there is no row %q in\n%s", want, strings.Join(lines, "\n"))
		}
	}
	measures := ""
	for _, m := range ProgressMeasures {
		measures += m.Name + ", "
	}
	for _, r := range rows[1:] {
		if !strings.Contains(", "+measures, fmt.Sprintf(", %s, ", r[7])) {
			t.Errorf("nothing says what %q measures", r[7])
		}
	}
}
