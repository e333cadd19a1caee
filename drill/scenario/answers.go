package scenario

import "time"

// Answers is a trainee on paper: what is pressed, in answer to what. With StartFrom "perfect" everything is answered
// rightly and in time, but for what LeaveOut, Swap, Ignore and Answers say; without it only Answers are given.
type Answers struct {
	About     string        `yaml:"about"`
	StartFrom string        `yaml:"start_from"` // "perfect", or empty
	Reaction  time.Duration `yaml:"reaction"`   // from the end of a challenge, or the onset of a cue; zero is DefaultReaction
	LeaveOut  []string      `yaml:"leave_out"`  // items that are not answered
	Swap      [][]string    `yaml:"swap"`       // pairs of neighbouring items, the second of which is done before the first
	Ignore    []string      `yaml:"ignore"`     // abnormals that nothing is done about
	Answers   []Answer      `yaml:"answers"`
}

// Answer is presses in answer to one thing. Exactly one of Item, Abnormal and At says to what.
type Answer struct {
	Item     string        `yaml:"item,omitempty"`     // once it is asked; timed from the end of the challenge
	Abnormal string        `yaml:"abnormal,omitempty"` // once its first cue begins
	At       time.Duration `yaml:"at,omitempty"`       // at a time of the sitting
	After    time.Duration `yaml:"after,omitempty"`    // before the first press; zero is the reaction
	Every    time.Duration `yaml:"every,omitempty"`    // between presses; zero is DefaultEvery
	Press    []string      `yaml:"press"`              // keys by their US QWERTY labels, as in "a", "shift+z", "enter"
}

// Perfect is the name of the answers that are all right.
const Perfect = "perfect"

// The times of a trainee on paper. Our own figures: a practised hand with nothing to look up.
const (
	DefaultReaction = 700 * time.Millisecond
	DefaultEvery    = 250 * time.Millisecond
)
