package score

import (
	"time"

	"hornlark/drill/logbook"
)

// Rules is the version of the rules that Judge goes by. It changes when the same log would give other figures, so that a
// result that was kept can be told from one that somebody changed.
const Rules = 7

// Result is what a sitting amounted to. It is the same for the same log.
type Result struct {
	Rules       int               `json:"rules"`       // see Rules; a result without it was judged by the first
	Completed   bool              `json:"completed"`   // the sitting went through, or a check was rightly refused where that ends it
	EndedWhy    logbook.Reason    `json:"ended_why"`   // how it ended; empty for one that was broken off before its end could be logged
	Passed      bool              `json:"passed"`      // completed, every criterion met, nothing to be inspected and nothing held
	Inspections []string          `json:"inspections"` // limits that were passed and after which the aircraft has to be inspected, in words
	Held        []string          `json:"held"`        // items that had to be right before the flow went on, and were not
	Items       []ItemResult      `json:"items"`       // in the order of the procedure
	Order       Order             `json:"order"`
	Injections  []InjectionResult `json:"injections"` // in the order in which they came
	Reactions   Reactions         `json:"reactions"`
	Handling    Handling          `json:"handling"`
	Looking     Looking           `json:"looking"`
	Resuming    Resuming          `json:"resuming"`
	Criteria    []Criterion       `json:"criteria"`
	Index       Index             `json:"index"`
	Next        []Rehearse        `json:"next"` // what to rehearse next, the most pressing first
	Extremes    []Extreme         `json:"extremes"`
	Strays      int               `json:"strays"`         // presses that nothing wanted
	False       int               `json:"false_confirms"` // "yes" to what was not so
	Trusted     bool              `json:"trusted"`        // the sound was healthy throughout: reaction times mean something
	Sound       Sound             `json:"sound"`
	Jumps       []Jump            `json:"jumps"`             // of the clock
	Stamped     *Stamped          `json:"stamped,omitempty"` // presses that were not stamped as they were read; nil: there are none
	LogEvents   int               `json:"log_events"`
	Instructed  []Instructed      `json:"instructed,omitempty"` // what the instructor did
	Remarks     []Remark          `json:"remarks,omitempty"`    // and wrote down
}

// Outcome is what became of an item, or of an injection.
type Outcome string

// The outcomes of an item. Where several are true the first of them is given; Marks has them all.
const (
	Right      Outcome = "right"
	Omitted    Outcome = "omitted"      // never done
	Wrong      Outcome = "wrong"        // answered wrongly
	OutOfOrder Outcome = "out-of-order" // done before something that comes earlier, or after something that comes later; of an injection, handled with its actions in another order
	Late       Outcome = "late"         // done after its time
	Rote       Outcome = "rote"         // answered before anybody could have looked, see ShortestLook
	Repeated   Outcome = "repeated"     // done more than once
	NotReached Outcome = "not-reached"  // the sitting ended before its turn came
	NotAsked   Outcome = "not-asked"    // its condition did not hold, it is not fitted, or the flow rightly ended before it
)

// The outcomes of an injection. Beside them there is OutOfOrder.
const (
	Handled    Outcome = "handled"     // noticed unprompted, right first move, every action in its time and order, nothing made worse, end state reached
	HandLate   Outcome = "late"        // end state reached, an action at least too late
	MadeWorse  Outcome = "made-worse"  // end state reached, and something done on the way that made it worse
	WrongFirst Outcome = "wrong-first" // end state reached, and the first move was another one
	ToldFirst  Outcome = "told-first"  // end state reached, but only once it had been told
	NotNoticed Outcome = "not-noticed" // it took its course, and the trainee did nothing that had to do with it
	Lost       Outcome = "lost"        // it got away, although it had been noticed or told
	LeftOpen   Outcome = "left-open"   // the flow ended over it, at a check that was refused or at something that was not right: it was not brought to its end
	Stood      Outcome = "stood-right" // everything stood right already, so that nothing was to be noticed; in no count
	LeftAlone  Outcome = "left-alone"  // a look-alike that was not acted on
	ActedOn    Outcome = "acted-on"    // a look-alike that was
	Unseen     Outcome = "unseen"      // it never showed itself; in no count
	Unended    Outcome = "unended"     // the sitting ended first
	Cleared    Outcome = "cleared"     // the instructor took it out again; in no count
)

// IsError reports whether an outcome is one to look at: something was not as it should have been.
func (o Outcome) IsError() bool {
	switch o {
	case Right, NotAsked, NotReached, Handled, LeftAlone, Unseen, Stood, Cleared:
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
	Ahead       bool      `json:"ahead,omitempty"`       // done before anybody had asked for it, where somebody asks
	SetBack     bool      `json:"set_back,omitempty"`    // done before, and to be done again because the instructor had set back to before it
	Overshoots  int       `json:"overshoots,omitempty"`  // how often its position was passed, or moved away from
	Typed       string    `json:"typed,omitempty"`       // of a reading or a figure: the digits that were typed
	True        string    `json:"true,omitempty"`        // of the same: the digits that would have been right
	Tolerance   *float64  `json:"tolerance,omitempty"`   // of the same: by how much it may be wrong, in the unit of its gauge
}

// DoneAnew reports whether an item was done again after the instructor had set back to before it: what is said of it is of that time.
func (r *ItemResult) DoneAnew() bool {
	return r.SetBack && r.Outcome != Omitted && r.Outcome != NotReached && r.Outcome != NotAsked
}

// Order is how the items were done against how they should have been.
//
// What was done is aligned with what was wanted so that as many items as possible stand in their place: the fewest moves
// explain the rest. Items that may be swapped share a rank, and are in place wherever in their group they were done.
type Order struct {
	Done       []string    `json:"done"`         // in the order in which they were done
	Deviations []Deviation `json:"deviations"`   // the fewest that explain the difference, in the order of the log
	Omitted    []string    `json:"omitted"`      // items that were left out
	Wanted     int         `json:"wanted"`       // items that were to be done: all but those not asked, and those that a sitting that was broken off never reached
	InPlace    int         `json:"in_place"`     // of them, done and in their place
	OutOfOrder int         `json:"out_of_order"` // departures of order: swapped neighbours are one, and so is an item that jumped
	Beyond     int         `json:"beyond"`       // departures beside those that keep an item out of its place: done again, too far, for nothing, or at a place that was lost
	Figure     *float64    `json:"figure"`       // InPlace less Beyond, of Wanted, in percent and at least 0; null if nothing was wanted
	TauB       *float64    `json:"tau_b"`        // rank agreement, from -1 to 1, see TauB; null below two items
	TauCount   int         `json:"tau_count"`    // how many items that rests on
}

// Slip is a kind of departure from the procedure.
type Slip string

// The kinds of departure, after the observable kinds of erroneous action of Hollnagel (1993), Int. J. Man-Machine Studies
// 39(1):1-32; that the list there holds all of these is from memory. They name what can be seen, never why.
const (
	Omission    Slip = "omission"     // never done
	Repetition  Slip = "repetition"   // done again
	Reversal    Slip = "reversal"     // two neighbours were swapped
	JumpForward Slip = "jump-forward" // done before its turn
	JumpBack    Slip = "jump-back"    // only done after its turn
	Intrusion   Slip = "intrusion"    // an action that nothing called for
	Overshot    Slip = "overshoot"    // a control was moved past the position that was wanted, or away from it
	TooEarly    Slip = "too-early"    // before the challenge could have been taken in, or the value was near
	TooLate     Slip = "too-late"     // in its turn, and after its time
	PlaceLosing Slip = "place-losing" // after an interruption, the flow was not resumed where it had been left
)

// Deviation is one departure from the procedure.
type Deviation struct {
	Kind    Slip     `json:"kind"`              // see the kinds
	Items   []string `json:"items"`             // the one that is out of place; both, for a reversal; none, for an intrusion
	After   string   `json:"after"`             // the item done just before, if any
	Before  string   `json:"before"`            // the item done just after, if any
	AtMS    *float64 `json:"at_ms"`             // of the sitting; null for what was never done and never given up
	Control string   `json:"control,omitempty"` // of an intrusion or an overshoot: what was moved, or the key
	SeenAs  Slip     `json:"seen_as,omitempty"` // of place-losing: the kind that it would have been without the interruption

	number int // of its entry in the log, for the order
}

// Notice is what it was that an injection was noticed by.
type Notice string

// What an injection can be noticed by: the first press that had to do with it.
const (
	ByStop    Notice = "stop"    // the partner was told to stop
	ByRefusal Notice = "refusal" // a check was rightly refused
	ByAction  Notice = "action"  // one of its immediate actions
	ByAlso    Notice = "also"    // a move that is right as well
	ByWorse   Notice = "worse"   // a move that made it worse
	BySilence Notice = "silence" // its alert was silenced
	ByMove    Notice = "move"    // a control of its actions was moved
)

// Diagnosis is whether the first move was a right one.
type Diagnosis string

// The diagnoses of an abnormal.
const (
	DiagnosedRight Diagnosis = "right" // one of the actions that come first, or one that is right as well
	DiagnosedWrong Diagnosis = "wrong" // another one
	NoMove         Diagnosis = "none"  // nothing was moved
)

// Resumption is how the flow was resumed after an interruption.
type Resumption string

// How the flow can be resumed.
const (
	ResumedRight    = Resumption(logbook.AtPlace)
	ResumedWrong    = Resumption(logbook.Elsewhere)
	ResumedTwice    = Resumption(logbook.Twice)
	ResumedPrompted = Resumption(logbook.Prompted) // only when asked to
)

// Place is whether the place in the flow was kept over an interruption.
type Place string

// The places in the flow after an interruption.
const (
	PlaceKept Place = "kept"
	PlaceLost Place = "lost"
)

// InjectionResult is what became of one injection.
type InjectionResult struct {
	Abnormal    string         `json:"abnormal"`              // its name
	Name        string         `json:"name"`                  // of this injection
	Title       string         `json:"title"`                 // of the abnormal
	Harmless    bool           `json:"harmless,omitempty"`    // a look-alike
	Inserted    bool           `json:"inserted,omitempty"`    // by the instructor
	Cue         logbook.Class  `json:"cue"`                   // class of what first differed from a healthy aircraft in the same hands
	Outcome     Outcome        `json:"outcome"`               // see the outcomes of an injection
	DetectionMS *float64       `json:"detection_ms"`          // onset to the first press that had to do with it; null if there was none before it was told
	HandlingMS  *float64       `json:"handling_ms"`           // onset to its end, if its end state was reached by the trainee
	Actions     []ActionResult `json:"actions"`               // its immediate actions, in order
	Worse       []string       `json:"worse,omitempty"`       // what made it worse
	SilencedMS  *float64       `json:"silenced_ms,omitempty"` // onset to the silencing of its alert
	Early       []string       `json:"early,omitempty"`       // items resumed at before it was over, although it had been noticed or told
	LetGo       []string       `json:"let_go"`                // items done over it before it was noticed
	ShownMS     *float64       `json:"shown_ms"`              // how long it was there: onset to its end, or to that of the sitting; null if it never showed itself
	ToldMS      *float64       `json:"told_ms,omitempty"`     // onset to when the crew said what it was, if it had not been noticed by then
	Resumed     Resumption     `json:"resumed,omitempty"`     // right, wrong, twice or prompted
	ResumeMS    *float64       `json:"resume_ms,omitempty"`   // from its end to the first item afterwards
	Ended       string         `json:"ended,omitempty"`       // how, in words; empty where no sentence of the abnormal's held
	Figures     []Excursion    `json:"figures"`               // how far gauges went while it was there

	NoticedBy      Notice    `json:"noticed_by,omitempty"`              // what the first press that had to do with it was
	Diagnosis      Diagnosis `json:"diagnosis,omitempty"`               // see the diagnoses; empty for a look-alike
	FirstMove      string    `json:"first_move,omitempty"`              // what the first move was, if it was not a right one
	DiagnosisMS    *float64  `json:"diagnosis_ms,omitempty"`            // onset to the first immediate action
	ActionsDone    int       `json:"actions_done"`                      // of Actions, by the trainee or already
	ActionsInTime  int       `json:"actions_in_time"`                   // of them, in time
	ActionsInOrder int       `json:"actions_in_order"`                  // of them, in an order that the abnormal allows
	Beside         int       `json:"beside,omitempty"`                  // further presses, after the first move, that neither it nor the flow wanted
	SilencedOnly   bool      `json:"silenced_without_acting,omitempty"` // the horn was silenced, and nothing done about what it meant
	Place          Place     `json:"place,omitempty"`                   // kept or lost, once it was over
	ResumeRightMS  *float64  `json:"resume_right_ms,omitempty"`         // from its end to the first right item, unprompted
	WentOnAt       string    `json:"went_on_at,omitempty"`              // item that was done first
	ShouldHaveBeen string    `json:"should_go_on_at,omitempty"`         // item whose turn it was
	Costs          []Cost    `json:"costs,omitempty"`                   // not from the log alone: the aircraft's answer
}

// Excursion is how far a gauge went while an injection was there, in the unit of the gauge.
type Excursion struct {
	Gauge   string  `json:"gauge"`
	Highest float64 `json:"highest"`
	Lowest  float64 `json:"lowest"`
	Last    float64 `json:"last"`  // as it ended
	RedS    float64 `json:"red_s"` // seconds in the red band
}

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
	DoneMS  *float64 `json:"done_ms"` // from the onset; null if it was not done
	LimitMS float64  `json:"limit_ms"`
	Late    bool     `json:"late,omitempty"`
	Already bool     `json:"already,omitempty"` // the control stood there

	OutOfOrder bool `json:"out_of_order,omitempty"` // done before one that comes earlier
}

// Reactions sums up the reactions to challenges, and those to every class of cue. Without any, all of it is zero.
//
// What should have been a reaction and was none (never answered, answered over the challenge, by rote, or done before it was
// asked for) counts in the median as GivenUpAt times its limit, so that neither leaving out nor racing makes it look better.
type Reactions struct {
	Count        int     `json:"count"`       // reactions
	Of           int     `json:"of"`          // all that there should have been
	MedianMS     float64 `json:"median_ms"`   // of Of
	FastestMS    float64 `json:"fastest_ms"`  // of Count
	SlowestMS    float64 `json:"slowest_ms"`  // of Count
	Anticipated  int     `json:"anticipated"` // answered under 100 ms after the challenge, or over it; not in Count
	Rote         int     `json:"rote"`        // answered before anybody could have looked; not in Count
	Ahead        int     `json:"ahead"`       // done before it was asked for; not in Count
	Missed       int     `json:"missed"`      // not answered in twice its time, or never come to; not in Count
	AssumedCount int     `json:"assumed"`     // of Count, timed from when the challenge should have ended, nobody having heard it

	Classes []ClassReactions `json:"classes"` // of cue, in the order of Classes; those that there was none of are left out
}

// ClassReactions sums up the reactions to one class of cue: from the end of a challenge, from the passing of a value that
// was to be called, and from a cue of an abnormal to the first press that had to do with it: the first cue, or a horn or a
// caption of its that came later and is harder to miss.
//
// The measures are those of Basner and Dinges (2011), Sleep 34(5):581-591, for reactions of one stimulus and one key; here
// more has to be decided, so that the lapse is taken from the par, and what was no reaction although there should have been one
// is in the figures with GivenUpAt times its limit, or, of an abnormal, with what it was there for and a lapse at least.
// All figures are zero if Of is.
type ClassReactions struct {
	Class            logbook.Class `json:"class"` // see Classes
	Count            int           `json:"count"` // reactions
	Of               int           `json:"of"`    // all that there should have been: what the figures rest on
	MedianMS         float64       `json:"median_ms"`
	LowerQuartileMS  float64       `json:"lower_quartile_ms"` // see Quantile
	UpperQuartileMS  float64       `json:"upper_quartile_ms"`
	MeanPerS         float64       `json:"mean_per_s"`          // mean of the reciprocals, in 1/s: not the reciprocal of the mean
	FastestTenthMS   float64       `json:"fastest_tenth_ms"`    // mean of the fastest tenth, at least one
	SlowestTenthMS   float64       `json:"slowest_tenth_ms"`    // mean of the slowest tenth, at least one
	SlowestTenthPerS float64       `json:"slowest_tenth_per_s"` // mean of the reciprocals of the slowest tenth
	ParMS            float64       `json:"par_ms"`              // what a practised hand needs: the scenario's, or the default; ParEach more for each further control
	WithinPar        int           `json:"within_par"`
	LapseMS          float64       `json:"lapse_ms"`      // from here on a reaction is a lapse
	Lapses           int           `json:"lapses"`        // of Count
	Missed           int           `json:"missed"`        // no reaction at all; not in Count
	Anticipated      int           `json:"anticipated"`   // under 100 ms; not in Count
	Rote             int           `json:"rote"`          // before anybody could have looked; not in Count
	Ahead            int           `json:"ahead"`         // done before it was asked for; not in Count
	Assumed          int           `json:"assumed"`       // of Count, timed from when the cue was due, nobody having heard it
	Doubtful         int           `json:"doubtful"`      // of Count, while the sound was not healthy
	LeastLateMS      float64       `json:"least_late_ms"` // what the paths of sound and key add to each, see Uncertainty
	MostLateMS       float64       `json:"most_late_ms"`
}

// Stamped is how well the times of presses are known that a page stamped.
type Stamped struct {
	Presses     int     `json:"presses"`       // that a page stamped
	Of          int     `json:"of"`            // all of the trainee's
	MedianOffMS float64 `json:"median_off_ms"` // by how much the time of one may be off either way
	MostOffMS   float64 `json:"most_off_ms"`
}

// Sound is how well the times of what was heard are known.
type Sound struct {
	Asked     int       `json:"asked"`      // sounds that were asked for: the sum of the next four
	Reported  int       `json:"reported"`   // a sound device reported when they were heard
	Assumed   int       `json:"assumed"`    // taken to have sounded when they were due, nobody having reported it
	Unheard   []Unheard `json:"unheard"`    // nobody can have heard them
	CalledOff int       `json:"called_off"` // stopped before they began
	Bad       []Stretch `json:"bad"`        // when the sound clock was not healthy
	BadMS     float64   `json:"bad_ms"`     // in all
}

// Unheard is how many sounds were not heard for a reason.
type Unheard struct {
	Why   logbook.Reason `json:"why"` // logbook.Muted, logbook.NoDevice, Virtual or Unknown
	Count int            `json:"count"`
}

// Why nothing of a whole sitting was heard, beside what its log says of each sound.
const (
	Virtual logbook.Reason = "virtual" // it had no clock, and so no sound
	Unknown logbook.Reason = "unknown" // an earlier version kept it, and not whether there was a device
)

// Silence says that nothing of the sitting was heard, whatever was reported: the reports are of when it would have been.
func (s *Sound) Silence(why logbook.Reason) {
	if n := s.Reported + s.Assumed; n > 0 {
		s.Unheard = append(s.Unheard, Unheard{why, n})
		s.Reported, s.Assumed = 0, 0
	}
}

// Missed is how many sounds nobody can have heard.
func (s *Sound) Missed() (n int) {
	for _, u := range s.Unheard {
		n += u.Count
	}
	return n
}

// Jump is one of the clock, from which the sitting was held: the program or the machine had been stopped.
type Jump struct {
	AtMS     float64 `json:"at_ms"` // running time
	LengthMS float64 `json:"length_ms"`
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
	Noticed      int `json:"noticed"`   // by the trainee, before they were told
	Told         int `json:"told"`      // before they were noticed
	Diagnosed    int `json:"diagnosed"` // the first move was a right one
	Actions      int `json:"actions"`   // immediate actions, of all of them together
	Done         int `json:"actions_done"`
	InTime       int `json:"actions_in_time"`
	InOrder      int `json:"actions_in_order"`
	MadeWorse    int `json:"made_worse"`
	Handled      int `json:"handled"`   // see the outcome
	Recovered    int `json:"recovered"` // their end state reached by the trainee, however that was done
	SilencedOnly int `json:"silenced_without_acting"`
}

// Looking is how well what was wrong was told from what only seemed to be, by the theory of signal detection: a signal is
// a check that was not so, or an abnormal that showed itself; noise is a check that was so, a look-alike, or a quiet stretch. A
// "yes" by rote is no look, and in neither.
type Looking struct {
	Signals     int      `json:"signals"`
	Hits        int      `json:"hits"` // signals that were refused, or noticed
	Noise       int      `json:"noise"`
	FalseAlarms int      `json:"false_alarms"` // noise that was refused, or acted on, or in which stop was called
	Sensitivity *float64 `json:"d_prime"`      // d', see Detect; null unless there was some of both
	Criterion   *float64 `json:"criterion"`    // c: above zero, says "in limits" too easily
	Words       string   `json:"words"`        // what that means

	QuietStretches int `json:"quiet_stretches"` // of Noise, see QuietStretch
	left           int // of them, those in which nothing was called

	unended bool // the sitting ended over an abnormal, which is not among the signals
}

// Resuming sums up how the flow was resumed after interruptions.
type Resuming struct {
	Count    int      `json:"count"` // interruptions after which the flow was to be resumed
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

// PartName names a part of the index, and what may be to be rehearsed of it.
type PartName string

// The parts of the index.
const (
	PartItems    PartName = "items"
	PartHandling PartName = "handling"
	PartOrder    PartName = "order"
	PartReaction PartName = "reaction"
	PartLimits   PartName = "limits"
	PartLooking  PartName = "looking"
	PartResuming PartName = "resuming"
)

// Part is one part of the index.
type Part struct {
	Name   PartName `json:"name"`
	Weight float64  `json:"weight"`
	Share  float64  `json:"share"` // 0 to 1
	Count  int      `json:"count"` // how many things the share rests on
}

// Subject is what kind of thing is to be rehearsed.
type Subject string

// What can be to be rehearsed.
const (
	RehearseLimit    Subject = "limit"    // one that was passed, after which the aircraft has to be inspected
	RehearseHold     Subject = "hold"     // an item that has to be right before the flow goes on
	RehearseAbnormal Subject = "abnormal" // by its name
	RehearseItem     Subject = "item"     // by its id
	RehearseOrder    Subject = "order"    // from an item on
	RehearseLooking  Subject = "looking"  // telling what is wrong from what is not
	RehearseResuming Subject = "resuming" // finding the place again
	RehearseReaction Subject = "reaction" // to a class of cue
)

// Rehearse is something to rehearse.
type Rehearse struct {
	Kind Subject `json:"kind"` // see the subjects
	Name string  `json:"name"` // of the abnormal or the item, or the class of cue
	Why  string  `json:"why"`  // in words, with its count
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
