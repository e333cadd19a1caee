package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"hornlark/drill/fault"
)

// Person is what a stand-in is like: how long things take, how often they go wrong, and how well it looks. All of it is estimates:
// times from published distributions of other tasks, rates from tables for control rooms. None was measured on a helicopter.
type Person struct {
	Name      string    `json:"name"`
	Challenge LogNormal `json:"challenge"` // from the end of a challenge to the first key, less Key
	Surprise  LogNormal `json:"surprise"`  // from having noticed something unexpected to the first key, less Key
	Expected  LogNormal `json:"expected"`  // the same for what was waited for: a value passed, the next of some actions known by heart
	Key       LogNormal `json:"key"`       // to find and press the key of a control
	Answer    LogNormal `json:"answer"`    // to press one of the few that are always the same: yes, no, silence, stop; or a digit
	Dwell     LogNormal `json:"dwell"`     // one look
	Slips     Slips     `json:"slips"`
	Miss      float64   `json:"miss_per_look"`  // chance to look at what differs and not to see it
	MissAlert float64   `json:"miss_per_alert"` // chance not to respond to an alert that sounds
	Misjudge  float64   `json:"misdiagnosis"`   // chance to take what was noticed for something else
	Blur      float64   `json:"blur"`           // by how much a gauge has to differ to be seen to, in fiftieths of its scale
}

// Slips are chances for each opportunity, undisturbed.
type Slips struct {
	Omission      float64 `json:"omission"`       // of an item, asked by a partner who keeps the place
	FromMemory    float64 `json:"from_memory"`    // the same where nobody asks
	WrongControl  float64 `json:"wrong_control"`  // the neighbour of the one that was meant
	WrongPosition float64 `json:"wrong_position"` // one position too far, of a control that has more than two
	Misreading    float64 `json:"misreading"`     // of a figure that is typed: one digit is wrong
	CheckReading  float64 `json:"check_reading"`  // of a check: said to be so though it is not, or the other way round
	Rote          float64 `json:"rote"`           // of a check: confirmed without looking
	Order         float64 `json:"order"`          // two neighbours are swapped, where nobody asks
	Uncorrected   float64 `json:"uncorrected"`    // a slip of one's own is not noticed and put right
	Stress        float64 `json:"stress"`         // by what all of these are multiplied while something is wrong
}

// LogNormal is a distribution of times: exp(Mu + Sigma z) seconds, z standard normal.
type LogNormal struct {
	Mu    float64 `json:"mu"`
	Sigma float64 `json:"sigma"`
}

// The shortest and the longest time that a draw can come to: nobody reacts sooner (Basner and Dinges 2011, Sleep 34(5):581-591), and
// whoever takes longer has stopped taking part.
const (
	leastTime = 100 * time.Millisecond
	mostTime  = 30 * time.Second
)

// Draw draws a time, in whole milliseconds, so that the last bit of an exponential makes no difference.
func (d LogNormal) Draw(r *rand.Rand) time.Duration {
	seconds := math.Exp(d.Mu + float64(d.Sigma*r.NormFloat64()))
	if !(seconds < mostTime.Seconds()) {
		return mostTime
	}
	return max(leastTime, time.Duration(math.Round(seconds*1000))*time.Millisecond)
}

// Median is the median in seconds.
func (d LogNormal) Median() float64 { return math.Exp(d.Mu) }

// Mean is the mean in seconds.
func (d LogNormal) Mean() float64 { return math.Exp(d.Mu + float64(d.Sigma*d.Sigma)/2) }

// around is the distribution of this mean in seconds and this sigma.
func around(mean, sigma float64) LogNormal {
	return LogNormal{Mu: math.Log(mean) - float64(sigma*sigma)/2, Sigma: sigma}
}

// The published times. From memory where it says so.
var (
	// surprised is reactions of drivers to something unexpected: mean 1.31 s, deviation 0.61 s, quantiles 1.18 (50 %), 1.87 (85 %), 2.45
	// (95 %) and 3.31 s (99 %); prepared is to something expected: 0.54 s and 0.10 s, 0.53, 0.64, 0.72 and 0.82 s. Koppa, Human Factors,
	// in Gartner, Messer and Rathi (eds.), Traffic Flow Theory, chapter 3, after Taoka 1989, ITE Journal 59(3):19-21; from memory. Green
	// 2000, Transportation Human Factors 2(3):195-216, has about 1.5 s for surprises, 1.25 s for what is unexpected but common, and 0.70 to
	// 0.75 s for what is expected.
	surprised = LogNormal{Mu: 0.17, Sigma: 0.44}
	prepared  = LogNormal{Mu: -0.63, Sigma: 0.18}

	// mental is the preparation of one step of a task, 1.35 s: operator M of Card, Moran and Newell 1980, Commun. ACM 23(7):396-410.
	// That it varies as surprises do is our own assumption.
	mental = around(1.35, 0.44)
)

// A key, in seconds: operator K of the same model, random letters 0.50, average typist 0.28, keyboard not known 1.20. A cockpit on a
// keyboard is random letters to whoever has practised it; the few keys that are always the same are one step easier.
const (
	keyUnfamiliar = 1.20
	keyPractised  = 0.50
	keyFluent     = 0.28
	keySkilled    = 0.20
	keySpread     = 0.18 // as prepared
)

// One look, in seconds: fixations of pilots on instruments were 0.4 to 0.9 s, about 0.6 on the average (Fitts, Jones and Milton 1950,
// Aeronautical Engineering Review 9(2):24-29, from memory); those of novices are longer, and suffer more from anything else that there
// is to do (Tole, Stephens, Harris and Ephrath 1982, Aviat Space Environ Med 53(1):54-61; the amounts here are our own).
const (
	dwellNovice  = 0.9
	dwellTypical = 0.6
	dwellSharp   = 0.45
	dwellSpread  = 0.44
)

// Rates of error, from Swain and Guttmann 1983, NUREG/CR-1278, chapter 20. Error factors are 3 but where it says otherwise: divided by
// it a rate is the lower bound of its table, which is what a sharp trainee is given. All from memory but for table 20-7, items 3 and 5.
const (
	omitChecked    = 0.003 // table 20-7, item 2: more than 10 items, checked off as they are done
	omitUnchecked  = 0.01  // table 20-7, item 4: more than 10 items, not checked off
	omitUnused     = 0.05  // table 20-7, item 5: a written procedure that is not looked at; error factor 5
	readFigure     = 0.001 // table 20-10, item 2: a digital readout of up to four digits
	checkMarked    = 0.001 // table 20-11, item 2: a meter with limit marks that are easily seen
	checkUnmarked  = 0.003 // table 20-11, item 4: a meter without limit marks
	selectGrouped  = 0.001 // table 20-12, item 3: among controls in functional groups
	selectLabelled = 0.003 // table 20-12, item 2: among similar controls told apart by labels alone
	setWrong       = 0.001 // table 20-12, item 9: a rotary control is set to another setting; error factor 10
	notUsed        = 0.01  // table 20-6, item 3: written procedures are not used under normal conditions: an answer by rote
	uncorrected    = 0.1   // table 20-22, item 1: a check with a written procedure does not find the error; error factor 5
	missedMeter    = 0.05  // table 20-25: one deviant meter with limit marks is not seen in a scan
	missedAlert    = 1e-4  // table 20-23: one annunciator of one is not responded to; error factor 10
	stressSkilled  = 5     // table 20-16: moderately high stress, dynamic; skilled
	stressNovice   = 10    // the same; novice
	dynamicNovice  = 2     // table 20-16: optimum stress, dynamic; novice, where skilled is 1
	tableFactor    = 3
)

// misdiagnosed is nominal; with little experience it is ten times, with much of it half: SPAR-H, NUREG/CR-6883, diagnosis (the factors
// from memory).
const misdiagnosed = 0.01

// swapped is a generic task F of HEART: a system is shifted by a procedure, with some checking (Williams 1986; from memory). No table
// gives reversals, so that the whole of it is taken.
const swapped = 0.003

// Persons gives the presets, the weakest first.
func Persons() []Person {
	key := func(mean float64) LogNormal { return around(mean, keySpread) }
	const lower = 1.0 / tableFactor
	return []Person{{
		Name: "novice", Challenge: mental, Surprise: surprised, Expected: prepared, Key: key(keyUnfamiliar), Answer: key(keyPractised), Dwell: around(dwellNovice, dwellSpread),
		Slips: Slips{
			Omission: dynamicNovice * omitChecked, FromMemory: omitUnused, WrongControl: dynamicNovice * selectLabelled, WrongPosition: dynamicNovice * setWrong,
			Misreading: dynamicNovice * readFigure, CheckReading: dynamicNovice * checkUnmarked, Rote: dynamicNovice * notUsed, Order: dynamicNovice * swapped,
			Uncorrected: dynamicNovice * uncorrected, Stress: stressNovice / dynamicNovice,
		},
		Miss: dynamicNovice * missedMeter, MissAlert: stressNovice * missedAlert, Misjudge: 10 * misdiagnosed, Blur: 3.5,
	}, {
		Name: "typical", Challenge: mental, Surprise: surprised, Expected: prepared, Key: key(keyPractised), Answer: key(keyFluent), Dwell: around(dwellTypical, dwellSpread),
		Slips: Slips{
			Omission: omitChecked, FromMemory: omitUnchecked, WrongControl: selectGrouped, WrongPosition: setWrong, Misreading: readFigure,
			CheckReading: checkMarked, Rote: notUsed, Order: swapped, Uncorrected: uncorrected, Stress: stressSkilled,
		},
		Miss: missedMeter, MissAlert: stressSkilled * missedAlert, Misjudge: misdiagnosed, Blur: 2.5,
	}, {
		Name: "sharp", Challenge: mental, Surprise: surprised, Expected: prepared, Key: key(keyFluent), Answer: key(keySkilled), Dwell: around(dwellSharp, dwellSpread),
		Slips: Slips{
			Omission: lower * omitChecked, FromMemory: lower * omitUnchecked, WrongControl: lower * selectGrouped, WrongPosition: setWrong / 10,
			Misreading: lower * readFigure, CheckReading: lower * checkMarked, Rote: lower * notUsed, Order: lower * swapped,
			Uncorrected: uncorrected / 5, Stress: stressSkilled,
		},
		Miss: missedMeter / 5, MissAlert: missedAlert, Misjudge: misdiagnosed / 2, Blur: 2,
	}}
}

// PersonNames are the names of the presets.
func PersonNames() []string {
	var names []string
	for _, p := range Persons() {
		names = append(names, p.Name)
	}
	return names
}

// PersonOf is the preset of a name. It errs if there is none, and says which there are.
func PersonOf(name string) (Person, error) {
	for _, p := range Persons() {
		if p.Name == name {
			return p, nil
		}
	}
	return Person{}, fmt.Errorf("there is no stand-in %q; %s", name, fault.Suggest(name, PersonNames()))
}

// Estimates is what is to be said wherever figures of a stand-in are told.
const Estimates = "All of it is estimates. The stand-in has reaction times of drivers and typists and error rates of control rooms (Koppa after Taoka 1989; Card, " +
	"Moran and Newell 1980; Swain and Guttmann 1983, NUREG/CR-1278, tables 20-6, 20-7, 20-10 to 20-12, 20-16, 20-22, 20-23 and 20-25; SPAR-H; HEART). None of them was measured on " +
	"helicopters or with this program. They serve to compare scenarios; of a person they foretell nothing."
