package bench

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"hornlark/drill/practice"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// Outlook is what many sittings of a stand-in came to. It grows by what can come, and not by how many sittings there are.
type Outlook struct {
	Runs       int              `json:"runs"`
	Passed     practice.Share   `json:"passed"`
	LengthS    Spread           `json:"length_s"`
	Reasons    []Reason         `json:"reasons"`    // why sittings were not passed
	Abnormals  []AbnormalsCame  `json:"abnormals"`  // what came, in the order of the scenario
	Never      []NeverCame      `json:"never_came"` // what did not
	GapS       Spread           `json:"gap_s"`      // from the end of one to the next
	Close      int              `json:"close"`      // of these, those shorter than CloseS
	CloseS     float64          `json:"close_s"`
	Gaps       int              `json:"gaps"`
	InOne      map[int]int      `json:"in_one_sitting"` // how many came in one sitting, look-alikes included: sittings
	FalseAlarm practice.Share   `json:"false_alarms"`   // sittings with one or more
	Items      []ItemOutlook    `json:"hardest_items"`  // the hardest first, those that ever went wrong
	Inspected  []InspectedOften `json:"inspections"`
	Slips      []SlipOutlook    `json:"slips"` // that the stand-in made of itself

	lengths, gaps *heap
	passed, alarm int
	reasons       map[string]*Reason
	abnormals     map[string]*AbnormalsCame
	items         map[string]*ItemOutlook
	inspected     map[string]int
	slips         map[string]*SlipOutlook
}

// Spread is where some figures lie. Of none it is all zero.
type Spread struct {
	Least   float64 `json:"least"`
	Tenth   float64 `json:"tenth"` // a tenth are no greater
	Quarter float64 `json:"quarter"`
	Median  float64 `json:"median"`
	Upper   float64 `json:"three_quarters"`
	Ninth   float64 `json:"nine_tenths"`
	Most    float64 `json:"most"`
}

// Reason is why sittings were not passed: a criterion, something to be inspected, or that they did not come to their end.
type Reason struct {
	Name  string         `json:"name"`
	Want  string         `json:"want,omitempty"`
	Count practice.Share `json:"sittings"` // of all
	Alone int            `json:"alone"`    // sittings that nothing else kept from being passed
	count int
	of    int
}

// AbnormalsCame is one abnormal, or look-alike, over all sittings.
type AbnormalsCame struct {
	Name      string                `json:"name"`
	Title     string                `json:"title"`
	Harmless  bool                  `json:"harmless"`
	Sittings  practice.Share        `json:"sittings"` // in which it came
	Times     int                   `json:"times"`    // that it came
	Shown     int                   `json:"shown"`    // of these, that it showed itself
	AtS       Spread                `json:"at_s"`     // when, in seconds of the sitting
	ReactionS Spread                `json:"reaction_s"`
	Noticed   practice.Share        `json:"noticed"` // of Shown
	Handled   practice.Share        `json:"handled"` // of Shown; of a look-alike: left alone
	Worse     int                   `json:"made_worse"`
	Lost      int                   `json:"lost"` // lost, or not noticed
	Outcomes  map[score.Outcome]int `json:"outcomes"`
	Items     []ItemCount           `json:"items"` // at which it came, the most frequent first
	Moments   []Moment              `json:"moments"`

	at, reaction    *heap
	came, noticed   int
	handled, latest int
	items           map[string]int
}

// MomentS is how many seconds are put together in Moments.
const MomentS = 10

// Moment is how often something came from a moment on, for MomentS seconds.
type Moment struct {
	FromS float64 `json:"from_s"`
	Count int     `json:"count"`
}

// ItemCount is how often something came at an item; with an empty item, at none.
type ItemCount struct {
	Item  string `json:"item"`
	Count int    `json:"count"`
}

// NeverCame is an abnormal of the scenario that never came, and why, as far as that can be known.
type NeverCame struct {
	Name string `json:"name"`
	Why  string `json:"why"`
}

// ItemOutlook is how often an item was not as it should have been.
type ItemOutlook struct {
	Item     string                `json:"item"`
	Wrong    practice.Share        `json:"wrong"` // of the sittings in which it was to be done
	Outcomes map[score.Outcome]int `json:"outcomes"`
	count    int
	of       int
}

// InspectedOften is a limit that was passed, and in how many sittings.
type InspectedOften struct {
	Text  string         `json:"text"`
	Count practice.Share `json:"sittings"`
}

// SlipOutlook is how often the stand-in made a slip of a kind, of all times that it could have.
type SlipOutlook struct {
	Kind  string         `json:"kind"`
	Count practice.Share `json:"count"`
	count int
	of    int
}

// CloseS is the gap in seconds below which one injection follows closely upon another.
const CloseS = 10

// NewOutlook begins with nothing.
func NewOutlook() *Outlook {
	return &Outlook{
		CloseS: CloseS, InOne: map[int]int{}, lengths: &heap{}, gaps: &heap{}, reasons: map[string]*Reason{}, abnormals: map[string]*AbnormalsCame{},
		items: map[string]*ItemOutlook{}, inspected: map[string]int{}, slips: map[string]*SlipOutlook{},
	}
}

// entry finds what a name stands for, and makes it if there is none.
func entry[T any](m map[string]*T, name string, fresh func() *T) *T {
	if m[name] == nil {
		m[name] = fresh()
	}
	return m[name]
}

// Add takes in one sitting. The order makes no difference.
func (o *Outlook) Add(s *Sitting) {
	o.Runs++
	if s.Passed {
		o.passed++
	}
	if s.FalseAlarms > 0 {
		o.alarm++
	}
	o.lengths.add(s.LengthS)
	o.addReasons(s)
	for _, id := range s.Asked {
		entry(o.items, id, func() *ItemOutlook { return &ItemOutlook{Item: id, Outcomes: map[score.Outcome]int{}} }).of++
	}
	for _, w := range s.Wrong {
		it := entry(o.items, w.Item, func() *ItemOutlook { return &ItemOutlook{Item: w.Item, Outcomes: map[score.Outcome]int{}} })
		it.count++
		it.Outcomes[w.Outcome]++
	}
	for _, text := range s.Inspections {
		o.inspected[text]++
	}
	for kind, of := range s.Chances {
		sl := entry(o.slips, kind, func() *SlipOutlook { return &SlipOutlook{Kind: kind} })
		sl.count, sl.of = sl.count+s.Slips[kind], sl.of+of
	}
	o.InOne[len(s.Injections)]++
	for i := range s.Injections {
		o.addInjection(s, i)
	}
}

// addReasons takes in why a sitting was not passed.
func (o *Outlook) addReasons(s *Sitting) {
	var why []*Reason
	at := func(name, want string) *Reason {
		return entry(o.reasons, name, func() *Reason { return &Reason{Name: name, Want: want} })
	}
	for _, c := range s.Criteria {
		r := at(c.Name, c.Want)
		r.of++
		if !c.Met {
			why = append(why, r)
		}
	}
	if len(s.Inspections) > 0 {
		why = append(why, at("bent metal: an inspection is due", ""))
	}
	if len(s.Held) > 0 {
		why = append(why, at("something was not right before the flow went on", ""))
	}
	if !s.Completed && len(s.Inspections) == 0 && len(s.Held) == 0 {
		why = append(why, at("it did not come to its end", ""))
	}
	for _, r := range why {
		r.count++
		if len(why) == 1 {
			r.Alone++
		}
	}
}

func (o *Outlook) addInjection(s *Sitting, i int) {
	in := &s.Injections[i]
	a := entry(o.abnormals, in.Abnormal, func() *AbnormalsCame {
		return &AbnormalsCame{Name: in.Abnormal, Harmless: in.Harmless, Outcomes: map[score.Outcome]int{}, at: &heap{}, reaction: &heap{}, items: map[string]int{}}
	})
	a.Times++
	if a.latest != o.Runs {
		a.latest = o.Runs
		a.came++
	}
	a.at.add(in.AtS)
	a.items[in.Item]++
	a.Outcomes[in.Outcome]++
	if in.Shown {
		a.Shown++
		if in.Noticed {
			a.noticed++
			a.reaction.add(*in.ReactionMS / 1000)
		}
	}
	switch in.Outcome {
	case score.Handled, score.LeftAlone:
		a.handled++
	case score.MadeWorse:
		a.Worse++
	case score.Lost, score.NotNoticed:
		a.Lost++
	}
	if i > 0 {
		gap := in.AtS - s.Injections[i-1].OverS
		o.gaps.add(gap)
		o.Gaps++
		if gap < CloseS {
			o.Close++
		}
	}
}

// Settle works out what all of it comes to. What is only counted stays, so that more can be added.
func (o *Outlook) Settle(f *Forecast) {
	o.Passed, o.FalseAlarm = practice.ShareOf(o.passed, o.Runs), practice.ShareOf(o.alarm, o.Runs)
	o.LengthS, o.GapS = o.lengths.spread(), o.gaps.spread()
	o.Reasons = []Reason{}
	for _, name := range slices.Sorted(maps.Keys(o.reasons)) {
		r := *o.reasons[name]
		r.Count = practice.ShareOf(r.count, o.Runs)
		o.Reasons = append(o.Reasons, r)
	}
	slices.SortStableFunc(o.Reasons, func(a, b Reason) int { return b.count - a.count })
	o.settleAbnormals(f)
	o.Items = []ItemOutlook{}
	for _, it := range o.items {
		if it.count > 0 {
			one := *it
			one.Wrong = practice.ShareOf(one.count, max(one.of, one.count))
			o.Items = append(o.Items, one)
		}
	}
	slices.SortFunc(o.Items, func(a, b ItemOutlook) int {
		return cmp.Or(cmp.Compare(b.Wrong.Value(), a.Wrong.Value()), cmp.Compare(f.numbers[a.Item], f.numbers[b.Item]), cmp.Compare(a.Item, b.Item))
	})
	o.Inspected = []InspectedOften{}
	for _, text := range slices.Sorted(maps.Keys(o.inspected)) {
		o.Inspected = append(o.Inspected, InspectedOften{text, practice.ShareOf(o.inspected[text], o.Runs)})
	}
	o.Slips = []SlipOutlook{}
	for _, kind := range slices.Sorted(maps.Keys(o.slips)) {
		sl := *o.slips[kind]
		sl.Count = practice.ShareOf(sl.count, sl.of)
		o.Slips = append(o.Slips, sl)
	}
}

// settleAbnormals works out what came, and what did not.
func (o *Outlook) settleAbnormals(f *Forecast) {
	o.Abnormals, o.Never = []AbnormalsCame{}, []NeverCame{}
	sc := f.exercise.Documents().Scenario
	for _, name := range sc.Abnormals() {
		a := o.abnormals[name]
		if a == nil {
			o.Never = append(o.Never, NeverCame{name, o.whyNever(f, sc, name)})
			continue
		}
		one := *a
		for _, ab := range f.exercise.Abnormals() {
			if ab.Name == name {
				one.Title = ab.Title
			}
		}
		one.Sittings, one.Noticed, one.Handled = practice.ShareOf(a.came, o.Runs), practice.ShareOf(a.noticed, a.Shown), practice.ShareOf(a.handled, a.Shown)
		one.AtS, one.ReactionS = a.at.spread(), a.reaction.spread()
		one.Items, one.Moments = []ItemCount{}, a.at.moments()
		for id, n := range a.items {
			one.Items = append(one.Items, ItemCount{id, n})
		}
		slices.SortFunc(one.Items, func(x, y ItemCount) int {
			return cmp.Or(y.Count-x.Count, cmp.Compare(f.numbers[x.Item], f.numbers[y.Item]), cmp.Compare(x.Item, y.Item))
		})
		o.Abnormals = append(o.Abnormals, one)
	}
}

// whyNever says why an abnormal never came, as far as these sittings tell.
func (o *Outlook) whyNever(f *Forecast, sc *scenario.Scenario, name string) string {
	var why []string
	for i := range sc.Injections {
		in := &sc.Injections[i]
		if in.Abnormal != name {
			continue
		}
		switch {
		case in.During != "" && f.numbers[in.During] == 0:
			why = append(why, fmt.Sprintf("item %s is not gone through", in.During))
		case in.During != "" && o.items[in.During] == nil:
			why = append(why, fmt.Sprintf("no sitting came as far as item %s, or it was never to be done", in.During))
		case in.During != "":
			why = append(why, fmt.Sprintf("item %s was come to, and over before another interruption was; or the sitting ended before", in.During))
		case in.When != "":
			why = append(why, fmt.Sprintf("its condition never held while nothing else was in the aircraft: %s", in.When))
		case o.lengths.most() < (in.At + in.After).Seconds():
			why = append(why, fmt.Sprintf("all sittings were over by %v", in.At+in.After))
		default:
			why = append(why, "something else was in the aircraft from its moment on, or the sitting ended before")
		}
	}
	if d := sc.Drawn; d != nil && slices.Contains(d.From, name) {
		drawn := 0
		for _, from := range d.From {
			if a := o.abnormals[from]; a != nil {
				drawn += a.Times
			}
		}
		if drawn == 0 {
			why = append(why, fmt.Sprintf("nothing was drawn at all: after %v there was no gap of %v or more in the window and the phases of the scenario", d.Window.From, d.MinGap))
		} else {
			why = append(why, fmt.Sprintf("the draw fell on others all %d times; with %d to draw from, the chance of that is %s", drawn, len(d.From), chanceText(len(d.From), drawn)))
		}
	}
	if len(why) == 0 {
		return "it is not known why"
	}
	text := why[0]
	for _, w := range why[1:] {
		text += "; " + w
	}
	return text
}

// chanceText is how likely it is that of so many equally likely ones a given one is never drawn.
func chanceText(from, times int) string {
	p := math.Pow(1-1/float64(from), float64(times))
	if p < 0.001 {
		return "less than 1 in 1000"
	}
	return fmt.Sprintf("%.1f %%", 100*p)
}

// heap is figures of 0 to some hours, to a tenth: their quantiles are known without keeping each.
type heap struct {
	count map[int]int
	n     int
}

func (h *heap) add(v float64) {
	if h.count == nil {
		h.count = map[int]int{}
	}
	h.count[int(math.Round(v*10))]++
	h.n++
}

// moments puts the figures together by MomentS.
func (h *heap) moments() []Moment {
	bins := map[int]int{}
	for k, n := range h.count {
		bins[k/(10*MomentS)] += n
	}
	list := []Moment{}
	for _, bin := range slices.Sorted(maps.Keys(bins)) {
		list = append(list, Moment{float64(bin * MomentS), bins[bin]})
	}
	return list
}

func (h *heap) most() float64 { return h.spread().Most }

// spread gives the quantiles: each is a figure that was there, the lower of two that it lies between.
func (h *heap) spread() Spread {
	if h.n == 0 {
		return Spread{}
	}
	keys := slices.Sorted(maps.Keys(h.count))
	at := func(percent int) float64 {
		want := (percent*(h.n-1))/100 + 1
		for _, k := range keys {
			if want -= h.count[k]; want <= 0 {
				return float64(k) / 10
			}
		}
		return float64(keys[len(keys)-1]) / 10
	}
	return Spread{at(0), at(10), at(25), at(50), at(75), at(90), at(100)}
}
