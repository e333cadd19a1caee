package score

import "time"

// Result is what a sitting amounted to. It is the same for the same log.
type Result struct {
	Completed  bool              `json:"completed"` // the sitting came to its own end
	Passed     bool              `json:"passed"`    // completed, and every criterion met
	Items      []ItemResult      `json:"items"`     // in the order of the procedure
	Order      Order             `json:"order"`
	Injections []InjectionResult `json:"injections"` // in the order in which they came
	Reactions  Reactions         `json:"reactions"`
	Criteria   []Criterion       `json:"criteria"`
	Extremes   []Extreme         `json:"extremes"`
	Strays     int               `json:"strays"`         // presses that nothing wanted
	False      int               `json:"false_confirms"` // "yes" to what was not so
	Trusted    bool              `json:"trusted"`        // the sound was healthy throughout: reaction times mean something
	LogEvents  int               `json:"log_events"`
}

// Outcome is what became of an item, or of an injection.
type Outcome string

// The outcomes of an item. Where several are true the first of them is given; Marks has them all.
const (
	Right      Outcome = "right"
	Omitted    Outcome = "omitted"      // never done
	Wrong      Outcome = "wrong"        // answered wrongly
	OutOfOrder Outcome = "out-of-order" // done before something that comes earlier, or after something that comes later
	Late       Outcome = "late"         // done after its time
	Repeated   Outcome = "repeated"     // done more than once
	NotReached Outcome = "not-reached"  // the sitting ended before its turn came
	NotAsked   Outcome = "not-asked"    // its condition did not hold, or it is not fitted
)

// The outcomes of an injection.
const (
	Handled   Outcome = "handled"    // its actions done, each in time
	HandLate  Outcome = "late"       // its actions done, one at least late
	Lost      Outcome = "lost"       // it got away
	LeftAlone Outcome = "left-alone" // a look-alike that was not acted on
	ActedOn   Outcome = "acted-on"   // a look-alike that was
	Unseen    Outcome = "unseen"     // it never showed itself
	Unended   Outcome = "unended"    // the sitting ended first
)

// ItemResult is what became of one item.
type ItemResult struct {
	ID          string    `json:"id"`
	Phase       string    `json:"phase"`
	Outcome     Outcome   `json:"outcome"`
	Marks       []Outcome `json:"marks,omitempty"`
	ReactionMS  *float64  `json:"reaction_ms"` // from the end of the challenge; null where there is none to measure
	LimitMS     float64   `json:"limit_ms"`
	Anticipated bool      `json:"anticipated,omitempty"` // answered under 100 ms after the challenge, or before its end
	Overshoots  int       `json:"overshoots,omitempty"`
}

// Order is how the items were done against how they should have been.
type Order struct {
	Done       []string    `json:"done"`       // in the order in which they were done
	Deviations []Deviation `json:"deviations"` // the fewest that explain the difference
	Omitted    []string    `json:"omitted"`
}

// Deviation is one departure from the order, named after the observable kinds of Hollnagel (1993), Int. J. Man-Machine
// Studies 39(1):1-32.
type Deviation struct {
	Kind  string   `json:"kind"`  // reversal, jump-forward or jump-back
	Items []string `json:"items"` // the one that is out of place; both, for a reversal
	After string   `json:"after"` // the item done just before, if any
}

// InjectionResult is what became of one injection.
type InjectionResult struct {
	Abnormal    string         `json:"abnormal"`
	Name        string         `json:"name"` // of this injection
	Title       string         `json:"title"`
	Harmless    bool           `json:"harmless,omitempty"`
	Cue         string         `json:"cue"` // class of the first cue
	Outcome     Outcome        `json:"outcome"`
	DetectionMS *float64       `json:"detection_ms"` // first cue to the first press that had to do with it
	HandlingMS  *float64       `json:"handling_ms"`  // first cue to its end, if it was handled
	Actions     []ActionResult `json:"actions"`
	Worse       []string       `json:"worse,omitempty"` // what made it worse
	SilencedMS  *float64       `json:"silenced_ms,omitempty"`
	Early       []string       `json:"early,omitempty"`   // items gone on with before it was over
	Resumed     string         `json:"resumed,omitempty"` // right, wrong, twice or prompted
	ResumeMS    *float64       `json:"resume_ms,omitempty"`
	Ended       string         `json:"ended,omitempty"` // how, in words
}

// ActionResult is what became of one immediate action.
type ActionResult struct {
	Say     string   `json:"say"`
	DoneMS  *float64 `json:"done_ms"` // from the first cue; null if it was not done
	LimitMS float64  `json:"limit_ms"`
	Late    bool     `json:"late,omitempty"`
	Already bool     `json:"already,omitempty"` // the control stood there
}

// Reactions sums up the reactions to challenges. Without any, all of it is zero.
type Reactions struct {
	Count        int     `json:"count"`
	MedianMS     float64 `json:"median_ms"`
	FastestMS    float64 `json:"fastest_ms"`
	SlowestMS    float64 `json:"slowest_ms"`
	Anticipated  int     `json:"anticipated"` // not counted above
	AssumedCount int     `json:"assumed"`     // timed from when the challenge should have ended, nobody having heard it
}

// Criterion is one thing that had to be reached, and what was.
type Criterion struct {
	Name  string  `json:"name"`
	Want  string  `json:"want"`
	Got   string  `json:"got"`
	Met   bool    `json:"met"`
	Count int     `json:"count"` // how many items or injections the figure rests on
	Value float64 `json:"value"`
}

// Extreme is how far a gauge went in the sitting.
type Extreme struct {
	Gauge   string  `json:"gauge"`
	Highest float64 `json:"highest"`
	Lowest  float64 `json:"lowest"`
	RedS    float64 `json:"red_s"` // seconds in the red band
}

func millis(d time.Duration) *float64 {
	ms := float64(d.Microseconds()) / 1000
	return &ms
}
