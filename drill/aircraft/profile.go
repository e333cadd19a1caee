package aircraft

import "time"

// Profile is one fictional aircraft, as data: what its cockpit holds and the figures of its systems.
type Profile struct {
	Name     string    `yaml:"name" is:"short"`               // short name, as on the command line
	Title    string    `yaml:"title" is:"label" size:"1..40"` // name on a screen
	About    string    `yaml:"about" is:"text"`               // a paragraph; says that the aircraft never existed
	By       string    `yaml:"by" is:"label" size:"1..60"`    // who made it and answers for its figures; empty over those that are built in
	BasedOn  string    `yaml:"based_on" is:"profile"`         // another profile that this one is laid over: only what differs is written, things in lists by their id; it needs no more than name and title
	LeaveOut []string  `yaml:"leave_out" is:"line,once"`      // what of that this one does not have: a list and a name, as captions.door, or a group or figure, as systems.horizon
	Like     string    `yaml:"like" is:"profile"`             // another profile that this one, written out in full, was made of: what was written for that is offered for this one too
	Controls []Control `yaml:"controls" size:"1..44"`         // everything that a hand moves
	Gauges   []Gauge   `yaml:"gauges" size:"0..64"`           // everything that is read
	Captions []Caption `yaml:"captions" size:"0..96"`         // lights with words on them
	Alerts   []Alert   `yaml:"alerts" size:"0..16"`           // everything that sounds
	Outside  []Fact    `yaml:"outside" size:"0..16"`          // what is to be seen through the window
	States   []State   `yaml:"states" size:"0..16"`           // ways to begin other than cold and dark
	Systems  Systems   `yaml:"systems"`                       // figures of the model

	Inspections []Inspection `yaml:"inspections" size:"0..32"` // limits whose passing means an inspection
	Expected    *Expected    `yaml:"expected"`                 // its data sheet: what the model is held to

	// Own says that the profile is a user's and did not come with the program. It is nothing that a document says: whoever
	// reads one sets it.
	Own bool `yaml:"-"`

	compiled `yaml:"-"` // what Compile makes of it
}

// Zone is where a control stands. On the keyboard it is a row of keys.
type Zone string

// The zones, from top to bottom of the keyboard.
const (
	Overhead Zone = "overhead" // digits row
	Panel    Zone = "panel"    // upper letter row: the instrument panel
	Console  Zone = "console"  // home row: the centre console
	Hands    Zone = "hands"    // lower row: collective, cyclic, pedals and outside
)

// Control is something that a hand moves. It has either Positions or Travel.
type Control struct {
	ID        string        `yaml:"id" is:"id"`                             // its name in documents
	Name      string        `yaml:"name" is:"label" size:"1..12"`           // as the panel labels it, at most 12 characters
	Key       string        `yaml:"key" is:"key"`                           // by its label on a US QWERTY keyboard; says the zone too
	Positions []string      `yaml:"positions" is:"label,once" size:"2..64"` // what they are called, in the order in which a press goes through them
	Travel    *Travel       `yaml:"travel"`                                 // of a lever, instead of positions
	Start     string        `yaml:"start" is:"position"`                    // position when cold and dark; empty is the first
	Locked    string        `yaml:"locked" is:"condition"`                  // condition under which it cannot be moved: a guard is down, a latch is in; empty is never
	Springs   time.Duration `yaml:"springs" range:"0s..1m"`                 // returns to the first position by itself after this time; left out: it stays
}

// Travel is the movement of a lever: equal notches from From to To.
type Travel struct {
	From float64 `yaml:"from"`           // value of the first notch
	To   float64 `yaml:"to"`             // value of the last notch
	Step float64 `yaml:"step"`           // from one notch to the next
	Unit string  `yaml:"unit" is:"text"` // of the values
}

// Gauge shows one indication of the model.
type Gauge struct {
	ID         string  `yaml:"id" is:"id"`                     // its name in documents; that of the indication it shows, unless indication says otherwise
	Name       string  `yaml:"name" is:"label" size:"1..8"`    // as the panel labels it, at most 8 characters
	Spoken     string  `yaml:"spoken" is:"label" size:"1..40"` // as the crew says it
	Unit       string  `yaml:"unit" is:"text" size:"0..8"`     // of the scale and of the reading
	Indication string  `yaml:"indication" is:"indication"`     // of the model; empty is the gauge's id
	Min        float64 `yaml:"min"`                            // lower end of the scale
	Max        float64 `yaml:"max"`                            // upper end of the scale
	Decimals   int     `yaml:"decimals" range:"0..3"`          // shown
	Tolerance  float64 `yaml:"tolerance"`                      // either side of the true value, for a reading to be right
	Bands      []Band  `yaml:"bands"`                          // in order, without gaps
	Shown      string  `yaml:"shown" is:"condition"`           // condition for the gauge to be alive; empty is always
	Armed      string  `yaml:"armed" is:"condition"`           // condition for leaving the green band to be a cue; empty is always
	BandsWhile string  `yaml:"bands_while" is:"condition"`     // condition for the bands to say anything about the reading; empty is always
}

// Colour is what a band, or a caption, means: 14 CFR 27.1549 for markings, 27.1322 for lights.
type Colour string

// The colours.
const (
	Green Colour = "green" // normal, or safe
	Amber Colour = "amber" // precaution, or possible need of future action
	Red   Colour = "red"   // beyond a limit, or possible need of immediate action
	White Colour = "white" // none of these: advisory
)

// Band is a part of a gauge's scale. A value on the boundary of a red band is in it.
type Band struct {
	From   float64 `yaml:"from"`   // where it begins, in the unit of the gauge
	To     float64 `yaml:"to"`     // where it ends
	Colour Colour  `yaml:"colour"` // what a reading in it means
}

// Level is how urgent an alert is: 14 CFR 27.1322, with the three levels of 25.1322.
type Level string

// The levels, the most urgent first.
const (
	Warning  Level = "warning"  // red: immediate action
	Caution  Level = "caution"  // amber: action soon
	Advisory Level = "advisory" // white: to be known
)

// Caption is a light with words on it.
type Caption struct {
	ID    string        `yaml:"id" is:"id"`                   // its name in documents
	Text  string        `yaml:"text" is:"label" size:"1..12"` // as it is lit, at most 12 characters
	Level Level         `yaml:"level"`                        // how urgent it is, and so its colour
	When  string        `yaml:"when" is:"condition"`          // condition for it to be lit
	After time.Duration `yaml:"after" range:"0s..1m"`         // the condition has to hold for this long
	Latch bool          `yaml:"latch"`                        // once lit, lit until the battery goes off
}

// Alert is something that sounds.
type Alert struct {
	ID       string `yaml:"id" is:"id"`                   // its name in documents
	Name     string `yaml:"name" is:"label" size:"1..24"` // what it is called on the screen
	Tone     string `yaml:"tone" is:"tone"`               // of the sounds: low-nr, high-nr, engine-out, fire, gong, caution, advisory
	Level    Level  `yaml:"level"`                        // how urgent it is
	When     string `yaml:"when" is:"condition"`          // condition for it to sound; new_warning and new_caution hold for one step
	Once     bool   `yaml:"once"`                         // sounds once for each time that the condition comes true; otherwise as long as it holds
	Silenced bool   `yaml:"silenced"`                     // can be silenced before its cause is corrected: 14 CFR 27.33(e)(4)
	Expected string `yaml:"expected" is:"condition"`      // condition under which it is no surprise
	Mute     string `yaml:"mute" is:"condition"`          // condition: as it comes true, the alert is silenced; empty: only the key silences it
}

// Fact is something outside the cockpit that is either so or not.
type Fact struct {
	ID   string `yaml:"id" is:"id"`                    // its name in documents
	True string `yaml:"true" is:"label" size:"1..60"`  // what is seen when it is so
	Not  string `yaml:"false" is:"label" size:"1..60"` // what is seen when it is not
	So   bool   `yaml:"so"`                            // how it begins
	Seen string `yaml:"seen" is:"condition"`           // condition for it to be in sight, and so to be asked about; empty is always
}

// State is a way to begin: the controls are moved, in order, and the model runs until it has settled.
type State struct {
	Name  string `yaml:"name" is:"short"`    // short name, by which a scenario begins in it
	Moves []Move `yaml:"moves" size:"0..64"` // what is done, in order, from cold and dark
}

// Move puts controls into positions and lets time pass.
type Move struct {
	Set  Settings      `yaml:"set"`                  // in this order
	Wait time.Duration `yaml:"wait" range:"0s..20m"` // model time afterwards
}

// Inspection is a limit beyond which the aircraft has to be inspected before anybody flies it: a sitting that passes it is over.
type Inspection struct {
	ID   string        `yaml:"id" is:"limit-id"`              // its name in results
	When string        `yaml:"when" is:"condition"`           // condition under which it has been passed
	For  time.Duration `yaml:"for" range:"0s..10m"`           // without a break
	Text string        `yaml:"text" is:"label" size:"1..120"` // what has to be inspected, and why
}

// Weather is the air at the base.
type Weather struct {
	OAT      float64 `yaml:"oat" range:"-60..60"`                    // outside air temperature, degrees Celsius
	Altitude float64 `yaml:"pressure_altitude" range:"-2000..20000"` // feet
	Tailwind float64 `yaml:"tailwind" range:"-60..60"`               // knots from behind; negative is a headwind
	Humidity float64 `yaml:"humidity" range:"0..100"`                // relative, %; from 40 up a carburettor may ice
}
