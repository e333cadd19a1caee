package bench

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"hornlark/drill"
	"hornlark/drill/condition"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// Forecast is an exercise with a stand-in who is ready to sit it, as often as one likes. It is never changed, and may be shared.
type Forecast struct {
	exercise *drill.Exercise
	person   Person
	flow     *flow // nil: it hangs on the seed
	after    map[string][]*condition.Condition
	expect   *expectation
	length   drill.Length
	lead     time.Duration
	sheet    *score.Sheet // nil: it hangs on the seed
	phases   map[string]string
	numbers  map[string]int
}

// personStream tells the draws of a stand-in from those of the sitting, which has the same seed.
const personStream = 0x7374616e642d696e

// rehearsals are how often a stand-in has been through the flow with nothing going wrong: once at the pace of each preset, and once
// more. What it then knows is the same whoever it is; how sharply it sees is its own (Blur).
const rehearsals = 2

// NewForecast makes an exercise of documents ready for a stand-in: compiles it, and has the stand-in go through the flow with nothing
// going wrong, so that it knows what to expect. length says how long phrases take, lead how far ahead sounds are asked for.
func NewForecast(docs drill.Documents, p Person, length drill.Length, lead time.Duration) (*Forecast, error) {
	f := &Forecast{person: p, length: length, lead: lead, phases: map[string]string{}, numbers: map[string]int{}}
	var err error
	if f.exercise, err = drill.Compile(docs); err != nil {
		return nil, err
	}
	if f.after, err = moments(f.exercise); err != nil {
		return nil, err
	}
	if f.exercise.Policy().Flow != scenario.Figures {
		if f.flow, err = newFlow(f.exercise, 0); err != nil {
			return nil, err
		}
		f.sheet = f.exercise.Sheet(0)
	}
	for phase := range f.exercise.Procedure(1).Phases {
		ph := &f.exercise.Procedure(1).Phases[phase]
		for i := range ph.Items {
			f.phases[ph.Items[i].ID] = ph.ID
			f.numbers[ph.Items[i].ID] = len(f.numbers) + 1
		}
	}
	f.expect = &expectation{signs: signsOf(docs.Profile, f.exercise.Abnormals()), seconds: map[int][]second{}}
	return f, f.rehearse(docs)
}

// Exercise is what is sat.
func (f *Forecast) Exercise() *drill.Exercise { return f.exercise }

// Person is who sits.
func (f *Forecast) Person() Person { return f.person }

// Number is the place of an item in the procedure, from 1; 0 if there is none of that id.
func (f *Forecast) Number(item string) int { return f.numbers[item] }

// rehearse has the stand-in learn what a healthy aircraft shows.
func (f *Forecast) rehearse(docs drill.Documents) error {
	sc := *docs.Scenario
	sc.Injections, sc.Drawn = nil, nil
	docs.Scenario = &sc
	if f.exercise.Policy().Flow == scenario.Figures {
		return nil // nothing goes wrong there
	}
	ex, err := drill.Compile(docs)
	if err != nil {
		return err
	}
	most := drill.MaxLength
	if f.exercise.Policy().Flow == scenario.Nothing {
		most = mostSeconds * time.Second // nothing but an aircraft that hovers
	}
	for _, p := range Persons() {
		for again := range uint64(rehearsals) {
			s := ex.Begin(again+1, f.lead)
			hand := f.hand(s, p, again+1)
			hand.rehearses = true
			err := drill.Run(s, hand, f.length, func(drill.Output) error {
				if s.Ended() {
					return nil
				}
				if at, ok := s.NextDeadline(); ok && at > most {
					return errEnough
				}
				return nil
			})
			if err != nil && err != errEnough {
				return fmt.Errorf("%s, with nothing going wrong: %w", docs.Scenario.Name, err)
			}
		}
	}
	f.expect.settle(func(item int) int {
		if item == 0 || item > len(f.flow.items) {
			return 0
		}
		return f.flow.items[item-1].phase
	})
	return nil
}

// errEnough ends a rehearsal that would go on.
var errEnough = fmt.Errorf("enough has been seen")

// hand is the stand-in at a sitting.
func (f *Forecast) hand(s *drill.Sitting, p Person, draws uint64) *standIn {
	fl := f.flow
	if fl == nil {
		fl, _ = newFlow(f.exercise, s.Seed()) // it has been compiled before
	} else {
		own := *fl
		own.swapped = map[int]int{}
		fl = &own
	}
	t := &Trainee{sitting: s, flow: fl, policy: f.exercise.Policy(), answers: perfectly, at: -1, after: f.after}
	t.key.abnormals, t.key.flow = f.exercise.Abnormals(), fl
	hand := &standIn{Trainee: t, Person: p, draw: rand.New(rand.NewPCG(draws, personStream)), expect: f.expect}
	hand.begin()
	return hand
}

var perfectly = &scenario.Answers{StartFrom: scenario.Perfect}

// Desk is where a stand-in sits: one sitting after the other, with memory that is used again. It is for one goroutine.
type Desk struct {
	*Forecast
	log []logbook.Entry
}

// Desk gives a place to sit.
func (f *Forecast) Desk() *Desk { return &Desk{Forecast: f} }

// Log is that of the sitting that was sat last here. It is overwritten by the next.
func (d *Desk) Log() []logbook.Entry { return d.log }

// Sit goes through one sitting. seed is what the sitting draws from, person what the stand-in does; stop ends it with its error.
func (d *Desk) Sit(seed, person uint64, stop func() error) (*Sitting, error) {
	s := d.exercise.Begin(seed, d.lead)
	hand := d.hand(s, d.person, person)
	d.log = d.log[:0]
	err := drill.Run(s, hand, d.length, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok {
			d.log = append(d.log, l.Entry)
			return stop()
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	sheet := d.sheet
	if sheet == nil {
		sheet = d.exercise.Sheet(seed)
	}
	return d.sittingOf(seed, score.Judge(sheet, d.log), hand), nil
}

// Sitting is what one sitting of a stand-in came to: what is told of it, and a line of the file that is saved.
type Sitting struct {
	Seed        uint64             `json:"seed"`
	Passed      bool               `json:"passed"`
	Completed   bool               `json:"completed"`
	EndedWhy    logbook.Reason     `json:"ended_why"`
	LengthS     float64            `json:"length_s"`
	Index       *float64           `json:"index"`       // 0 to 100; null where nothing was judged
	Criteria    []CriterionMet     `json:"criteria"`    // of the scenario, with what was reached
	Inspections []string           `json:"inspections"` // limits that were passed and after which the aircraft has to be inspected
	Held        []string           `json:"held"`        // items that had to be right before the flow went on, and were not
	Items       map[string]int     `json:"items"`       // how many came to each outcome
	Wrong       []ItemWrong        `json:"wrong"`       // those that were not as they should have been
	Asked       []string           `json:"asked"`       // items that could have gone wrong
	ReactionMS  float64            `json:"reaction_ms"` // median of those to challenges; 0: none
	FalseAlarms int                `json:"false_alarms"`
	Injections  []InjectionOutcome `json:"injections"`
	Slips       map[string]int     `json:"slips"`   // made by the stand-in, of each kind
	Chances     map[string]int     `json:"chances"` // how often it could have made one
}

// CriterionMet is a criterion and what was reached of it.
type CriterionMet struct {
	Name string `json:"name"`
	Want string `json:"want"`
	Got  string `json:"got"`
	Met  bool   `json:"met"`
}

// ItemWrong is an item that was not as it should have been.
type ItemWrong struct {
	Item    string        `json:"item"`
	Outcome score.Outcome `json:"outcome"`
}

// InjectionOutcome is one that came.
type InjectionOutcome struct {
	Abnormal   string        `json:"abnormal"`
	Harmless   bool          `json:"harmless"`
	AtS        float64       `json:"at_s"` // when its cause went into the aircraft
	OverS      float64       `json:"over_s"`
	Item       string        `json:"item"` // that was being dealt with; empty: none
	Phase      string        `json:"phase"`
	Shown      bool          `json:"shown"`
	Noticed    bool          `json:"noticed"`
	Outcome    score.Outcome `json:"outcome"`
	ReactionMS *float64      `json:"reaction_ms"` // from its onset to the first press that had to do with it

	number int // of Item, from 1
}

// sittingOf puts together what a sitting came to.
func (d *Desk) sittingOf(seed uint64, r *score.Result, hand *standIn) *Sitting {
	out := &Sitting{
		Seed: seed, Passed: r.Passed, Completed: r.Completed, EndedWhy: r.EndedWhy, Index: r.Index.Value, Inspections: r.Inspections, Held: r.Held,
		Items: map[string]int{}, Slips: map[string]int{}, Chances: map[string]int{}, ReactionMS: r.Reactions.MedianMS, FalseAlarms: r.Looking.FalseAlarms,
		Criteria: []CriterionMet{}, Wrong: []ItemWrong{}, Asked: []string{}, Injections: []InjectionOutcome{},
	}
	for _, c := range r.Criteria {
		out.Criteria = append(out.Criteria, CriterionMet{c.Name, c.Want, c.Got, c.Met})
	}
	for i := range r.Items {
		it := &r.Items[i]
		out.Items[string(it.Outcome)]++
		if it.Outcome != score.NotAsked && it.Outcome != score.NotReached {
			out.Asked = append(out.Asked, it.ID)
		}
		if it.Outcome.IsError() {
			out.Wrong = append(out.Wrong, ItemWrong{it.ID, it.Outcome})
		}
	}
	for k := omits; k <= swaps; k++ {
		out.Slips[k.String()], out.Chances[k.String()] = hand.slips.count[k], hand.slips.chances[k]
	}
	d.injectionsOf(out, r)
	return out
}

// injectionsOf finds in the log when each injection came, and at which item.
func (d *Desk) injectionsOf(out *Sitting, r *score.Result) {
	item := ""
	open := map[string]int{}
	for i := range d.log {
		e := &d.log[i]
		out.LengthS = max(out.LengthS, e.At.Seconds())
		switch e.Kind {
		case logbook.Ask:
			item = e.Item
		case logbook.Done:
			if d.exercise.Policy().Asks == "" {
				item = e.Item
			}
		case logbook.Inject:
			open[e.Injection] = len(out.Injections)
			in := InjectionOutcome{Abnormal: e.Abnormal, Harmless: e.OK, AtS: e.At.Seconds(), Item: item, Phase: d.phases[item], number: d.numbers[item]}
			if k := slices.IndexFunc(r.Injections, func(in score.InjectionResult) bool { return in.Name == e.Injection }); k >= 0 {
				of := &r.Injections[k]
				in.Outcome, in.ReactionMS = of.Outcome, of.DetectionMS
				in.Shown, in.Noticed = of.Outcome != score.Unseen, of.DetectionMS != nil
			}
			out.Injections = append(out.Injections, in)
		case logbook.Handled, logbook.Lost, logbook.Cleared:
			if k, ok := open[e.Injection]; ok {
				out.Injections[k].OverS = e.At.Seconds()
			}
		}
	}
	for i := range out.Injections {
		if out.Injections[i].OverS == 0 {
			out.Injections[i].OverS = out.LengthS
		}
	}
}
