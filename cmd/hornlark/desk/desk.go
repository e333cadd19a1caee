// Package desk takes a sitting from its first word to the last entry of its log, with a clock or without one, and makes it ready again
// afterwards.
//
// What it does that with is given to it: a clock, whoever presses keys and looks on, something to be heard on, and records. It says
// nothing to anybody but through these, and knows no command.
package desk
