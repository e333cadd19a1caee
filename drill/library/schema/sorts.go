package schema

import (
	"reflect"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/fault"
	"hornlark/drill/library"
)

// sort is what a text stands for, as the tag "is" beside its field says.
type sort struct {
	Words   string                // how it is written, in a sentence
	form    string                // pattern; empty: any text
	left    string                // pattern where it may be left out; empty: form, or nothing
	types   any                   // of JSON
	longest int                   // characters
	once    bool                  // in a list, each once
	words   func() []string       // all that it can be
	not     func() []string       // what it cannot be, although it has the form
	names   func(*Names) []string // all that it can be with an aircraft
}

// The forms of names, and of texts.
const (
	anyLine  = `^[^\r\n]*[^ \t\r\n][^\r\n]*$` // one line, not empty
	notBlank = `[^ \t\r\n]`
	oneText  = `^[^\x00-\x1f\x7f]*$`
	runForm  = `^[a-z0-9][a-z0-9_-]{0,39}$` // of a run or a state
	pointed  = `^[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*$`
	tellIt   = `^(never|at once|after ` + timeForm + `)$`
)

// The types of JSON that a name can be: one that may begin with a digit can be a number for YAML.
var (
	nameTypes  = []string{"string", "boolean"}
	shortTypes = []string{"string", "boolean", "integer"}
)

// sorts are all of them.
var sorts = map[string]sort{
	"text":         {types: anyText, longest: library.MaxText},
	"word":         {},
	"severity":     {Words: "Above 0."},
	"line":         {form: anyLine, left: `^[^\r\n]*$`, types: anyText, longest: fault.MaxLine, Words: "One line."},
	"label":        {form: oneText, types: anyText},
	"group":        {types: anyText},
	"press":        {types: anyText},
	"position":     {types: anyText},
	"name":         {form: fault.NameForm, types: nameTypes},
	"short":        {form: aircraft.NameForm, types: shortTypes},
	"id":           {form: aircraft.IDForm, types: "string", not: aircraft.Taken},
	"limit-id":     {form: aircraft.IDForm, types: nameTypes},
	"bus-id":       {form: `^[a-z][a-z0-9_]{0,19}$`, types: nameTypes},
	"equipment-id": {form: `^[a-z][a-z0-9_]{0,18}$`, types: nameTypes},
	"key":          {words: keys},
	"tone":         {words: tones},
	"tell":         {form: tellIt, types: "string"},
	"condition":    {form: notBlank, types: []string{"string", "boolean"}, longest: condition.MaxLength, Words: "A condition, as in nr < 95 and battery."},

	"gauge":      {form: aircraft.IDForm, types: "string", names: (*Names).gauges},
	"caption":    {form: aircraft.IDForm, types: "string", names: (*Names).captions},
	"alert":      {form: aircraft.IDForm, types: "string", names: (*Names).alerts},
	"lever":      {form: aircraft.IDForm, types: "string", names: (*Names).levers},
	"look":       {form: aircraft.IDForm, types: "string", names: (*Names).looked},
	"cue":        {form: aircraft.IDForm, types: "string", names: (*Names).cues},
	"indication": {form: aircraft.IDForm, types: "string", names: (*Names).numbers},
	"equipment":  {form: aircraft.IDForm, types: "string", names: (*Names).equipment},
	"bus":        {form: aircraft.IDForm, types: "string", names: (*Names).buses},
	"failure":    {form: pointed, types: "string", names: (*Names).failures},
	"state":      {form: aircraft.NameForm, types: shortTypes, names: (*Names).states},
	"reset":      {form: aircraft.NameForm, types: shortTypes, names: (*Names).resets},
	"run":        {form: runForm, types: shortTypes},
	"run-name":   {form: fault.NameForm, types: nameTypes},
	"profile":    {form: aircraft.NameForm, types: shortTypes, names: (*Names).itself},
	"procedure":  {form: fault.NameForm, types: nameTypes, names: (*Names).procedures},
	"phase":      {form: fault.NameForm, types: nameTypes, names: (*Names).phases},
	"item":       {form: fault.NameForm, types: nameTypes, names: (*Names).items},
	"own-item":   {form: fault.NameForm, types: nameTypes},
	"abnormal":   {form: fault.NameForm, types: nameTypes, names: (*Names).abnormals},
	"part":       {form: fault.NameForm, types: nameTypes, names: (*Names).parts},
}

// sortOf is the sort that a field says it is of.
func sortOf(tag reflect.StructTag) sort {
	is, once, _ := strings.Cut(tag.Get("is"), ",")
	s := sorts[is]
	s.once = once == "once"
	return s
}

func keys() (list []string) {
	for _, row := range aircraft.KeyRows() {
		list = append(list, row.Keys...)
	}
	return list
}

func tones() (list []string) {
	for _, tone := range aircraft.Tones {
		list = append(list, tone.Name)
	}
	return list
}
