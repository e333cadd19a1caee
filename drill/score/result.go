package score

import "time"

// Rules is the version of the rules that Judge goes by. It changes when the same log would give other figures, so that a
// result that was kept can be told from one that somebody changed.
const Rules = 3

// Result is what a sitting amounted to. It is the same for the same log.
type Result struct {
	Rules      int               `json:"rules"`     // see Rules; a result without it was judged by the first
	Completed  bool              `json:"completed"` // the sitting came to its own end
	Passed     bool              `json:"passed"`    // completed, and every criterion met
	Items      []ItemResult      `json:"items"`     // in the order of the procedure
	Order      Order             `json:"order"`
	Injections []InjectionResult `json:"injections"` // in the order in which they came
	Reactions  Reactions         `json:"reactions"`
	Handling   Handling          `json:"handling"`
	Looking    Looking           `json:"looking"`
	Resuming   Resuming          `json:"resuming"`
	Criteria   []Criterion       `json:"criteria"`
	Index      Index             `json:"index"`
	Next       []Rehearse        `json:"next"` // what to rehearse next, the most pressing first
	Extremes   []Extreme         `json:"extremes"`
	Strays     int               `json:"strays"`         // presses that nothing wanted
	False      int               `json:"false_confirms"` // "yes" to what was not so
	Trusted    bool              `json:"trusted"`        // the sound was healthy throughout: reaction times mean something
	Sound      Sound             `json:"sound"`
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

// Amiss reports whether an outcome is one to look at: something was not as it should have been.
func (o Outcome) Amiss() bool {
	switch o {
	case Right, NotAsked, NotReached, Handled, LeftAlone, Unseen:
		return false
	}
	return true
}

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
//
// What was done is aligned with what was wanted so that as many items as possible stand in their place: the fewest moves
// explain the rest. Items that may be swapped share a rank, and are in place wherever in their group they were done.
type Order struct {
	Done       []string    `json:"done"`       // in the order in which they were done
	Deviations []Deviation `json:"deviations"` // the fewest that explain the difference, in the order of the log
	Omitted    []string    `json:"omitted"`
	Wanted     int         `json:"wanted"`   // items that were to be done: all but those not asked and those not reached
	InPlace    int         `json:"in_place"` // of them, done and in their place
	Figure     *float64    `json:"figure"`   // InPlace of Wanted in percent; null if nothing was wanted
	TauB       *float64    `json:"tau_b"`    // rank agreement, from -1 to 1, see TauB; null below two items
	TauCount   int         `json:"tau_count"`
}

// The kinds of deviation, after the observable kinds of erroneous action of Hollnagel (1993), Int. J. Man-Machine Studies
// 39(1):1-32; that the list there holds all of these is from memory. They name what can be seen, never why.
const (
	Omission    = "omission"     // never done
	Repetition  = "repetition"   // done again
	Reversal    = "reversal"     // two neighbours were swapped
	JumpForward = "jump-forward" // done before its turn
	JumpBack    = "jump-back"    // only done after its turn
	Intrusion   = "intrusion"    // an action that nothing called for
	TooEarly    = "too-early"    // before the challenge could have been taken in, or the value was near
	TooLate     = "too-late"     // in its turn, and after its time
	PlaceLosing = "place-losing" // after an interruption, the flow was not gone on with where it had been left
)

// Deviation is one departure from the procedure.
type Deviation struct {
	Kind    string   `json:"kind"`              // see the kinds
	Items   []string `json:"items"`             // the one that is out of place; both, for a reversal; none, for an intrusion
	After   string   `json:"after"`             // the item done just before, if any
	Before  string   `json:"before"`            // the item done just after, if any
	AtMS    *float64 `json:"at_ms"`             // of the sitting; null for what was never done and never given up
	Control string   `json:"control,omitempty"` // of an intrusion: what was moved, or the key
	SeenAs  string   `json:"seen_as,omitempty"` // of place-losing: the kind that it would have been without the interruption

	number int // of its entry in the log, for the order
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
	Early       []string       `json:"early,omitempty"`     // items gone on with before it was over
	Resumed     string         `json:"resumed,omitempty"`   // right, wrong, twice or prompted
	ResumeMS    *float64       `json:"resume_ms,omitempty"` // from its end to the first item afterwards
	Ended       string         `json:"ended,omitempty"`     // how, in words

	NoticedBy      string   `json:"noticed_by,omitempty"`              // action, silence or worse: what the first press that had to do with it was
	Diagnosis      string   `json:"diagnosis,omitempty"`               // see the diagnoses; empty for a look-alike
	FirstMove      string   `json:"first_move,omitempty"`              // what the first move was, if it was not one of its actions
	DiagnosisMS    *float64 `json:"diagnosis_ms,omitempty"`            // first cue to the first immediate action
	ActionsDone    int      `json:"actions_done"`                      // of Actions, by the trainee or already
	ActionsInTime  int      `json:"actions_in_time"`                   // of them, in time
	ActionsInOrder int      `json:"actions_in_order"`                  // of them, in their order
	SilencedOnly   bool     `json:"silenced_without_acting,omitempty"` // the horn was silenced, and nothing done about what it meant
	Place          string   `json:"place,omitempty"`                   // kept or lost, once it was over
	ResumeRightMS  *float64 `json:"resume_right_ms,omitempty"`         // from its end to the first right item, unprompted
	WentOnAt       string   `json:"went_on_at,omitempty"`              // item that was done first
	ShouldHaveBeen string   `json:"should_go_on_at,omitempty"`         // item whose turn it was
	Costs          []Cost   `json:"costs,omitempty"`                   // not from the log alone: the aircraft's answer, see drill.CostsOf
}

// The diagnoses of an abnormal.
const (
	DiagnosedRight = "right" // the first move belonged to it
	DiagnosedWrong = "wrong" // the first move was another one
	NoMove         = "none"  // nothing was moved
)

// The places in the flow after an interruption.
const (
	PlaceKept = "kept"
	PlaceLost = "lost"
)

// Cost is what an abnormal did to one gauge, as it went and as it would have gone with every press of the trainee after
// half the delay.
type Cost struct {
	Gauge  string `json:"gauge"`
	AsWas  Toll   `json:"as_it_was"`
	AtHalf Toll   `json:"at_half_the_delay"`
}

// Toll is how far a gauge went, in its unit, and for how long it was beyond its limit.
type Toll struct {
	Highest float64 `json:"highest"`
	Lowest  float64 `json:"lowest"`
	RedS    float64 `json:"red_s"` // seconds in the red band
}

// ActionResult is what became of one immediate action.
type ActionResult struct {
	Say     string   `json:"say"`
	DoneMS  *float64 `json:"done_ms"` // from the first cue; null if it was not done
	LimitMS float64  `json:"limit_ms"`
	Late    bool     `json:"late,omitempty"`
	Already bool     `json:"already,omitempty"` // the control stood there

	OutOfOrder bool `json:"out_of_order,omitempty"` // done before one that comes earlier
}

// Reactions sums up the reactions to challenges, and those to every class of cue. Without any, all of it is zero.
type Reactions struct {
	Count        int     `json:"count"`
	MedianMS     float64 `json:"median_ms"`
	FastestMS    float64 `json:"fastest_ms"`
	SlowestMS    float64 `json:"slowest_ms"`
	Anticipated  int     `json:"anticipated"` // not counted above
	AssumedCount int     `json:"assumed"`     // timed from when the challenge should have ended, nobody having heard it

	Classes []ClassReactions `json:"classes"` // of cue, in the order of Classes; those that there was none of are left out
}

// ClassReactions sums up the reactions to one class of cue: from the end of a challenge, from the passing of a value that
// was to be called, and from a cue of an abnormal to the first press that had to do with it: the first cue, or a horn or a
// caption of its that came later and is harder to miss.
//
// The measures are those of Basner and Dinges (2011), Sleep 34(5):581-591, for reactions of one stimulus and one key; here
// more has to be decided, so that the lapse is taken from the par. All figures are zero if Count is.
type ClassReactions struct {
	Class            string  `json:"class"` // see Classes
	Count            int     `json:"count"` // reactions that the figures rest on
	MedianMS         float64 `json:"median_ms"`
	LowerQuartileMS  float64 `json:"lower_quartile_ms"` // see Quantile
	UpperQuartileMS  float64 `json:"upper_quartile_ms"`
	MeanPerS         float64 `json:"mean_per_s"`          // mean of the reciprocals, in 1/s: not the reciprocal of the mean
	FastestTenthMS   float64 `json:"fastest_tenth_ms"`    // mean of the fastest tenth, at least one
	SlowestTenthMS   float64 `json:"slowest_tenth_ms"`    // mean of the slowest tenth, at least one
	SlowestTenthPerS float64 `json:"slowest_tenth_per_s"` // mean of the reciprocals of the slowest tenth
	ParMS            float64 `json:"par_ms"`              // what a practised hand needs: the scenario's, or the default; ParEach more for each further control
	WithinPar        int     `json:"within_par"`
	LapseMS          float64 `json:"lapse_ms"`      // from here on a reaction is a lapse
	Lapses           int     `json:"lapses"`        // of Count
	Missed           int     `json:"missed"`        // no reaction at all; not in Count
	Anticipated      int     `json:"anticipated"`   // under 100 ms; not in Count
	Assumed          int     `json:"assumed"`       // of Count, timed from when the cue was due, nobody having heard it
	Doubtful         int     `json:"doubtful"`      // of Count, while the sound was not healthy
	LeastLateMS      float64 `json:"least_late_ms"` // what the paths of sound and key add to each, see Uncertainty
	MostLateMS       float64 `json:"most_late_ms"`
}

// Sound is how well the times of what was heard are known.
type Sound struct {
	Reported int       `json:"reported"` // cues whose onset was reported back
	Assumed  int       `json:"assumed"`  // cues that were taken to have sounded when they were due
	Bad      []Stretch `json:"bad"`      // when the sound clock was not healthy
	BadMS    float64   `json:"bad_ms"`   // in all
}

// Stretch is a part of a sitting, in its running time.
type Stretch struct {
	FromMS  float64 `json:"from_ms"`
	UntilMS float64 `json:"until_ms"`
	Why     string  `json:"why"`
}

// Handling sums up the abnormals that showed themselves. What stood right already is in none of the counts.
type Handling struct {
	Count        int `json:"count"`
	Noticed      int `json:"noticed"`
	Diagnosed    int `json:"diagnosed"` // the first move belonged to it
	Actions      int `json:"actions"`   // immediate actions, of all of them together
	Done         int `json:"actions_done"`
	InTime       int `json:"actions_in_time"`
	InOrder      int `json:"actions_in_order"`
	MadeWorse    int `json:"made_worse"`
	Recovered    int `json:"recovered"` // handled, in time or late
	SilencedOnly int `json:"silenced_without_acting"`
}

// Looking is how well what was wrong was told from what only seemed to be, by the theory of signal detection: a signal is
// a check that was not so, or an abnormal that showed itself; noise is a check that was so, or a look-alike.
type Looking struct {
	Signals     int      `json:"signals"`
	Hits        int      `json:"hits"` // signals that were refused, or noticed
	Noise       int      `json:"noise"`
	FalseAlarms int      `json:"false_alarms"` // noise that was refused, or acted on
	Sensitivity *float64 `json:"d_prime"`      // d', see Detect; null unless there was some of both
	Criterion   *float64 `json:"criterion"`    // c: above zero, says "in limits" too easily
	Words       string   `json:"words"`        // what that means
}

// Resuming sums up how the flow was gone on with after interruptions.
type Resuming struct {
	Count    int      `json:"count"` // interruptions after which the flow was to be gone on with
	Kept     int      `json:"kept"`  // at the right item, unprompted
	Lost     int      `json:"lost"`
	Prompted int      `json:"prompted"`  // of Lost, asked to go on
	LagCount int      `json:"lag_count"` // how many the median rests on
	LagMS    *float64 `json:"lag_ms"`    // median, from the end to the first right item; null without any
}

// Index is one figure for the whole sitting, to compare it with others of the same scenario. See IndexFormula.
type Index struct {
	Value *float64 `json:"value"` // 0 to 100; null if the sitting is incomplete, or nothing was to be judged
	Parts []Part   `json:"parts"` // what it is made of; a part without a count is left out
}

// Part is one part of the index.
type Part struct {
	Name   string  `json:"name"`
	Weight float64 `json:"weight"`
	Share  float64 `json:"share"` // 0 to 1
	Count  int     `json:"count"` // how many things the share rests on
}

// Rehearse is something to rehearse.
type Rehearse struct {
	Kind string `json:"kind"` // abnormal, item, order, looking, resuming or reaction
	Name string `json:"name"` // of the abnormal or the item, or the class of cue
	Why  string `json:"why"`  // in words, with its count
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
