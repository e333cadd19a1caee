package web

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// What the station tells its page. Every text is one line without anything that acts.

// helloMessage is what there is to be known of a sitting from its beginning on.
type helloMessage struct {
	Kind      string         `json:"kind"` // hello
	Title     string         `json:"title"`
	Scenario  string         `json:"scenario"`
	Trainee   string         `json:"trainee"`
	Policy    string         `json:"policy"`
	About     string         `json:"about"` // the policy in words
	Seed      string         `json:"seed"`
	Played    bool           `json:"played"` // answers are played: nobody sits there
	Map       scenario.Help  `json:"map"`    // what the trainee sees of the controls
	Caution   string         `json:"caution"`
	Face      *Face          `json:"face"`
	Abnormals []abnormalTold `json:"abnormals"` // that can be inserted
	Weather   []figureTold   `json:"weather"`
	FuelMost  float64        `json:"fuel_most"` // kg
	Power     bool           `json:"power"`     // ground power can be connected
	Softest   float64        `json:"softest"`   // dB
	MaxSaid   int            `json:"max_said"`
	MaxRemark int            `json:"max_remark"`
	Phrases   []string       `json:"phrases"` // sentences of the crew that the documents have
}

type abnormalTold struct {
	Name     string `json:"name"`
	Title    string `json:"title"`
	About    string `json:"about"`
	Harmless bool   `json:"harmless,omitempty"`
}

type figureTold struct {
	Name  string  `json:"name"`
	Title string  `json:"title"`
	Unit  string  `json:"unit"`
	Least float64 `json:"least"`
	Most  float64 `json:"most"`
}

// weatherTitles are what the figures of the weather are called.
var weatherTitles = map[string]string{
	"oat": "Outside air temperature", "pressure_altitude": "Pressure altitude", "tailwind": "Tailwind", "humidity": "Humidity",
}

func helloOf(a *About, face *Face) helloMessage {
	ex := a.Ex
	m := helloMessage{
		Kind: "hello", Title: inert.Line(a.Title), Scenario: inert.Line(ex.Scenario.Name), Trainee: inert.Line(a.Trainee), Policy: ex.PolicyName(),
		About: ex.Policy().About, Seed: strconv.FormatUint(ex.Seed, 10), Played: ex.Answers != nil, Map: ex.Scenario.Map, Caution: debrief.CautionOf(ex.Profile), Face: face,
		Abnormals: []abnormalTold{}, Weather: []figureTold{}, FuelMost: ex.Profile.FuelMost(), Power: ex.Profile.HasGroundPower(), Softest: drill.LeastLevel,
		MaxSaid: drill.MaxSaid, MaxRemark: drill.MaxRemark, Phrases: []string{},
	}
	for _, name := range ex.CanInsert() {
		for _, ab := range ex.Bundle.Abnormals {
			if ab.Name == name {
				m.Abnormals = append(m.Abnormals, abnormalTold{inert.Line(name), inert.Line(ab.Title), inert.Line(ab.About), ab.Harmless})
			}
		}
	}
	for _, name := range aircraft.WeatherFigures() {
		least, most, unit, _ := aircraft.WeatherRange(name)
		title := weatherTitles[name]
		if title == "" {
			title = name
		}
		m.Weather = append(m.Weather, figureTold{name, title, unit, least, most})
	}
	for _, p := range ex.Phrases() {
		if p.Voice == string(drill.Crew) && !slices.Contains(m.Phrases, p.Text) {
			m.Phrases = append(m.Phrases, inert.Line(p.Text))
		}
	}
	slices.Sort(m.Phrases)
	return m
}

type aroundMessage struct {
	Kind   string `json:"kind"`   // around
	Notice string `json:"notice"` // what the trainee is told that is not of the sitting
	Silent bool   `json:"silent"` // nothing is heard
}

type linesMessage struct {
	Kind  string  `json:"kind"` // lines
	From  int     `json:"from"` // number of the first of them; what was there from that on is replaced
	Lines []event `json:"lines"`
}

func linesOf(from int, lines []event) linesMessage {
	return linesMessage{"lines", from, append([]event{}, lines...)}
}

type voiced struct {
	Kind string `json:"kind"` // voice
	ID   int    `json:"id"`
	Text string `json:"text"` // whether it would be heard
}

type handover struct {
	Kind      string   `json:"kind"` // code
	ID        int      `json:"id"`
	Code      string   `json:"code"`
	Addresses []string `json:"addresses"`
}

// itemsMessage is the checklist.
type itemsMessage struct {
	Kind   string      `json:"kind"` // items
	Phases []phaseTold `json:"phases"`
	Items  []itemTold  `json:"items"`
}

type phaseTold struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Begun bool   `json:"begun,omitempty"`
	Now   bool   `json:"now,omitempty"`
}

type itemTold struct {
	ID        string          `json:"id"`
	Phase     string          `json:"phase"`
	Challenge string          `json:"challenge"`
	Response  string          `json:"response"`
	State     drill.ItemState `json:"state"`
	WasNot    bool            `json:"was_not,omitempty"`
}

func itemsOf(b *drill.Stage) itemsMessage {
	m := itemsMessage{"items", []phaseTold{}, []itemTold{}}
	for _, p := range b.Phases {
		m.Phases = append(m.Phases, phaseTold{inert.Line(p.ID), inert.Line(p.Title), p.Begun, p.Now})
	}
	for _, it := range b.Items {
		m.Items = append(m.Items, itemTold{inert.Line(it.ID), inert.Line(it.Phase), inert.Line(it.Challenge), inert.Line(it.Response), it.State, it.WasNot})
	}
	return m
}

// stageMessage is what else goes on behind the scenes.
type stageMessage struct {
	Kind       string             `json:"kind"` // stage
	At         int64              `json:"at"`   // ms of running time; what else there is is sent as it changes
	Held       bool               `json:"held"`
	Ended      bool               `json:"ended"`
	Injections []injectionTold    `json:"injections"`
	ToDraw     int                `json:"to_draw"`
	Key        keyTold            `json:"key"`
	Differs    []differenceTold   `json:"differs"`
	Weather    map[string]float64 `json:"weather"`
	Fuel       float64            `json:"fuel"` // kg
	Power      bool               `json:"power"`
	Sound      bool               `json:"sound"`
	Level      float64            `json:"level"` // dB
	Left       int                `json:"left"`
}

type injectionTold struct {
	Name     string               `json:"name"`
	Abnormal string               `json:"abnormal"`
	Title    string               `json:"title"`
	Harmless bool                 `json:"harmless,omitempty"`
	Mine     bool                 `json:"mine,omitempty"`
	State    drill.InjectionState `json:"state"`
	When     string               `json:"when,omitempty"` // in words
	Put      int64                `json:"put,omitempty"`  // ms
	Onset    int64                `json:"onset,omitempty"`
	Noticed  bool                 `json:"noticed,omitempty"`
	Ended    string               `json:"ended,omitempty"`
	Actions  []actionTold         `json:"actions,omitempty"`
}

type actionTold struct {
	Say  string `json:"say"`
	Done bool   `json:"done,omitempty"`
}

type keyTold struct {
	Item  string `json:"item"`
	Right string `json:"right"`
	Why   string `json:"why"`
	Wrong string `json:"wrong,omitempty"`
}

type differenceTold struct {
	What    string `json:"what"`
	Is      string `json:"is"`
	WouldBe string `json:"would_be"`
}

func (s *Station) stageOf(b *drill.Stage) stageMessage {
	m := stageMessage{
		Kind: "stage", Held: b.Held, Ended: b.Ended, Injections: []injectionTold{}, ToDraw: b.ToDraw, Differs: []differenceTold{},
		Key:     keyTold{inert.Line(b.Key.Item), inert.Line(b.Key.Right), inert.Line(b.Key.Why), inert.Line(b.Key.Wrong)},
		Weather: map[string]float64{}, Fuel: math.Round(b.Fuel), Power: b.GroundPower, Sound: b.Sound, Level: b.Level, Left: b.Left,
	}
	for _, name := range aircraft.WeatherFigures() {
		m.Weather[name] = b.Weather.Of(name)
	}
	for _, in := range b.Injections {
		told := injectionTold{
			Name: inert.Line(in.Name), Abnormal: inert.Line(in.Abnormal), Title: inert.Line(in.Title), Harmless: in.Harmless, Mine: in.Mine, State: in.State,
			When: inert.Line(s.momentInWords(&in)), Put: in.Put.Milliseconds(), Onset: in.Onset.Milliseconds(), Noticed: in.Noticed, Ended: string(in.Ended),
		}
		for _, a := range in.Actions {
			told.Actions = append(told.Actions, actionTold{inert.Line(a.Say), a.Done})
		}
		m.Injections = append(m.Injections, told)
	}
	for _, d := range b.Differs {
		m.Differs = append(m.Differs, differenceTold{inert.Line(s.called(d)), inert.Line(d.Is), inert.Line(d.WouldBe)})
	}
	return m
}

// momentInWords is when an injection comes.
func (s *Station) momentInWords(in *drill.StageInjection) string {
	switch {
	case in.When.Item != "":
		return "when " + s.about.Names.Item(in.When.Item) + " is asked"
	case in.When.Phase != "":
		return "as " + s.about.Names.Phase(in.When.Phase) + " begins"
	case in.If != "":
		return "when " + in.If
	case in.When.At > 0:
		return "at " + in.When.At.Truncate(time.Second).String()
	}
	return ""
}

// called is what somebody at the panel calls a thing that differs.
func (s *Station) called(d drill.Difference) string {
	p := s.about.Ex.Profile
	switch d.Class {
	case logbook.Horn:
		if i, ok := p.AlertIndex(d.Name); ok {
			return p.Alerts[i].Name
		}
	case logbook.Caption:
		if i, ok := p.CaptionIndex(d.Name); ok {
			return p.Captions[i].Text
		}
	case logbook.Gauge:
		return s.about.Names.Gauge(d.Name)
	case logbook.Sight:
		return "outside"
	}
	return d.Name
}

// encoded is a message to a page.
func encoded(of any) []byte {
	body, err := json.Marshal(of)
	if err != nil {
		panic(err) // structs of strings and finite numbers can always be written
	}
	return body
}
