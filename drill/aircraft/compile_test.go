package aircraft

import (
	"math"
	"strings"
	"testing"
	"time"

	"gopkg.in/yaml.v3"

	"hornlark/drill/condition"
)

func TestFaultsOfProfiles(t *testing.T) {
	for _, test := range []struct {
		name    string
		spoil   func(*Profile)
		path    string
		problem string // a part of it
		remedy  string // a part of it
	}{
		{"name", func(p *Profile) { p.Name = "Big Bird" }, "name", "Big Bird", "small letters"},
		{"title", func(p *Profile) { p.Title = "" }, "title", "no text", ""},
		{"two controls on one key", func(p *Profile) { p.Controls[3].Key = "1" }, "controls[3].key", `key "1" already moves battery`, "free"},
		{"unknown key", func(p *Profile) { p.Controls[3].Key = "F5" }, "controls[3].key", `"F5"`, "1 2 3"},
		{"name too long", func(p *Profile) { p.Controls[0].Name = "MASTER BATTERY" }, "controls[0].name", "14 characters", "12"},
		{"control characters", func(p *Profile) { p.Controls[0].Name = "A\x1b[2J" }, "controls[0].name", "cannot be shown", ""},
		{"clashing ids", func(p *Profile) { p.Captions[0].ID = "battery" }, "captions[0].id", `"battery"`, "free"},
		{"id of an indication", func(p *Profile) { p.Controls[0].ID = "tot1" }, "systems", `"tot1"`, "free"},
		{"id that is a word", func(p *Profile) { p.Outside[0].ID = "not" }, "outside[0].id", `"not"`, "another"},
		{"id that is none", func(p *Profile) { p.Outside[0].ID = "Guard posted" }, "outside[0].id", "Guard posted", "letters"},
		{"start unknown", func(p *Profile) { p.Controls[0].Start = "onn" }, "controls[0].start", `"onn"`, "did you mean on?"},
		{"one position", func(p *Profile) { p.Controls[0].Positions = []string{"on"} }, "controls[0].positions", "1 positions", "2 to"},
		{"position twice", func(p *Profile) { p.Controls[0].Positions = []string{"on", "on"} }, "controls[0].positions[1]", "twice", ""},
		{"travel and positions", func(p *Profile) { p.Controls[0].Travel = &Travel{0, 10, 1, "%"} }, "controls[0].travel", "either", ""},
		{"travel without steps", func(p *Profile) { lever(p).Travel.Step = 0 }, "controls[35].travel", "notches", ""},
		{"travel backwards", func(p *Profile) { lever(p).Travel.To = -5 }, "controls[35].travel", "notches", ""},
		{"travel that never ends", func(p *Profile) { lever(p).Travel.To = math.Inf(1) }, "controls[35].travel", "notches", ""},
		{"travel that is no number", func(p *Profile) { lever(p).Travel.Step = math.NaN() }, "controls[35].travel", "notches", ""},
		{"springs backwards", func(p *Profile) { p.Controls[0].Springs = -time.Second }, "controls[0].springs", "-1s", "1m"},
		{"band beyond the scale", func(p *Profile) { p.Gauges[0].Bands[3].To = 40 }, "gauges[0].bands[3]", "cannot reach", "between 0 and 32"},
		{"gap", func(p *Profile) { p.Gauges[0].Bands[1].From = 19 }, "gauges[0].bands[1].from", "not where the one before ends", "write 16"},
		{"bands out of order", func(p *Profile) { b := p.Gauges[0].Bands; b[0], b[1] = b[1], b[0] }, "gauges[0].bands[0].from", "begins at 16", "write 0"},
		{"bands end early", func(p *Profile) { p.Gauges[0].Bands = p.Gauges[0].Bands[:2] }, "gauges[0].bands[1].to", "end at 23", "write 32"},
		{"band inside out", func(p *Profile) { p.Gauges[0].Bands[0].To = -1 }, "gauges[0].bands[0]", "from 0 to -1", ""},
		{"scale inside out", func(p *Profile) { p.Gauges[0].Max = -1 }, "gauges[0].max", "from 0 to -1", ""},
		{"scale that is no number", func(p *Profile) { p.Gauges[0].Min = math.NaN() }, "gauges[0].max", "NaN", ""},
		{"decimals", func(p *Profile) { p.Gauges[0].Decimals = 9 }, "gauges[0].decimals", "9", "0 to 3"},
		{"tolerance", func(p *Profile) { p.Gauges[0].Tolerance = -1 }, "gauges[0].tolerance", "-1", ""},
		{"unknown indication", func(p *Profile) { p.Gauges[0].Indication = "vlts" }, "gauges[0].indication", `"vlts"`, "did you mean volts?"},
		{"gauge without indication", func(p *Profile) { p.Gauges[0].ID = "voltage" }, "gauges[0].id", `"voltage"`, ""},
		{"gauge twice", func(p *Profile) { p.Gauges[1].ID = "volts" }, "gauges[1].id", "gauges[0]", "free"},
		{"gauge name", func(p *Profile) { p.Gauges[0].Name = "VOLTMETER" }, "gauges[0].name", "9 characters", "8"},
		{"colour", func(p *Profile) { p.Gauges[0].Bands[0].Colour = "pink" }, "gauges[0].bands[0].colour", "pink", "green"},
		{"level", func(p *Profile) { p.Captions[0].Level = "warnin" }, "captions[0].level", "warnin", "did you mean warning?"},
		{"caption text", func(p *Profile) { p.Captions[0].Text = "ROTOR TOO SLOW" }, "captions[0].text", "14 characters", "12"},
		{"caption without condition", func(p *Profile) { p.Captions[0].When = "" }, "captions[0].when", "no condition", ""},
		{"condition", func(p *Profile) { p.Captions[0].When = "nr < 95 and battry" }, "captions[0].when", "column 13", "did you mean battery?"},
		{"condition of a gauge", func(p *Profile) { p.Gauges[0].Armed = "nr" }, "gauges[0].armed", "column 1", "nr > 0"},
		{"condition of the systems", func(p *Profile) { p.Systems.Engines[1].Idle = `nr_select == "grond"` }, "systems.engines[1].idle", "grond", "ground"},
		{"tone", func(p *Profile) { p.Alerts[0].Tone = "kazoo" }, "alerts[0].tone", "kazoo", "low-nr"},
		{"state", func(p *Profile) { p.States[0].Moves[0].Set = Put("batery", "on") }, "states[0].moves[0].set.batery", "batery", "did you mean battery?"},
		{"state's position", func(p *Profile) { p.States[0].Moves[0].Set = Put("battery", "up") }, "states[0].moves[0].set.battery", `"up"`, "off, on"},
		{"state that takes for ever", func(p *Profile) { p.States[0].Moves[0].Wait = time.Hour }, "states[0].moves[0].wait", "1h", "20m"},
		{"state twice", func(p *Profile) { p.States[1].Name = "running" }, "states[1].name", "running", "free"},
		{"figure out of range", func(p *Profile) { p.Systems.Rotor.Inertia = 0 }, "systems.rotor.inertia", "0 is out of range", "from 0.01"},
		{"figure that is none", func(p *Profile) { p.Systems.Electrical.Battery.Ohms = math.NaN() }, "systems.electrical.battery.ohms", "NaN", ""},
		{"figure of a list", func(p *Profile) { p.Systems.Electrical.Equipment[2].Amps = -1 }, "systems.electrical.equipment[2].amps", "-1", "0 to"},
		{"curve", func(p *Profile) { p.Systems.Turbine.Air = nil }, "systems.turbine.air", "0 points", ""},
		{"curve backwards", func(p *Profile) { p.Systems.Turbine.Air = Curve{{10, 0}, {5, 1}} }, "systems.turbine.air[1]", "5", "left to right"},
		{"curve out of range", func(p *Profile) { p.Systems.Turbine.Air = Curve{{10, -1}} }, "systems.turbine.air[0][1]", "-1", ""},
		{"no engine", func(p *Profile) { p.Systems.Engines = nil }, "systems.engines", "no engine", "one or two"},
		{"three engines", func(p *Profile) { p.Systems.Engines = make([]Engine, 3) }, "systems.engines", "3", "2"},
		{"no engine type", func(p *Profile) { p.Systems.Turbine = nil }, "systems", "what the engines are", "turbine"},
		{"two engine types", func(p *Profile) { p.Systems.Piston = &Piston{} }, "systems", "what the engines are", "either"},
		{"nothing that governs", func(p *Profile) { p.Systems.Governor = nil }, "systems", "governs", "governor"},
		{"nothing that meters", func(p *Profile) { p.Systems.FADEC = nil }, "systems", "meters the fuel", "metering"},
		{"two that meter", func(p *Profile) { p.Systems.Metering = &Metering{Flow: Curve{{0, 0}}} }, "systems", "meters the fuel", "either"},
		{"unknown equipment", func(p *Profile) { p.Systems.Engines[0].FADEC = "fadec" }, "systems.engines[0].fadec", "fadec", "did you mean fadec1?"},
		{"unknown bus", func(p *Profile) { p.Systems.Annunciator.Bus = "man" }, "systems.annunciator.bus", "man", "did you mean main?"},
		{"no bus", func(p *Profile) { p.Systems.Electrical.Buses = nil }, "systems.electrical.buses", "distributes", "main bus"},
		{"collective that is no lever", func(p *Profile) { p.Systems.Rotor.Collective = "battery" }, "systems.rotor.collective", "battery", "travel"},
		{"unknown lamp", func(p *Profile) { p.Systems.Annunciator.WeakLamp = "hyd3" }, "systems.annunciator.weak_lamp", "hyd3", "did you mean hyd1?"},
		{"unknown gauge in a sweep", func(p *Profile) { p.Systems.Engines[0].Sweeps = []string{"tot9"} }, "systems.engines[0].sweeps[0]", "tot9", "did you mean tot1?"},
		{"too many captions", func(p *Profile) { p.Captions = make([]Caption, 500) }, "captions", "500", "96"},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := dunlin(t)
			test.spoil(p)
			faults := p.Compile()
			for _, f := range faults {
				if f.Path == test.path && strings.Contains(f.Problem, test.problem) && strings.Contains(f.Remedy, test.remedy) {
					if _, err := New(p, fairWeather, ""); err == nil {
						t.Error("a profile with faults can be flown")
					}
					return
				}
			}
			t.Errorf("faults: %v", faults)
		})
	}
}

func lever(p *Profile) *Control {
	for i := range p.Controls {
		if p.Controls[i].Travel != nil {
			return &p.Controls[i]
		}
	}
	return nil
}

// What only engines of one kind have can be wrong too.
func TestFaultsOfOtherEngines(t *testing.T) {
	for _, test := range []struct {
		name, profile string
		spoil         func(*Systems)
		path, problem string
	}{
		{"no starter", "turnstone-st", func(s *Systems) { s.Engines[0].Starter = "" }, "systems.engines[0].starter", "no condition"},
		{"throttle that is no lever", "turnstone-st", func(s *Systems) { s.Engines[0].Throttle = "battery" }, "systems.engines[0].throttle", "not a lever"},
		{"valve", "turnstone-st", func(s *Systems) { s.Metering.Flow = Curve{{0, -1}} }, "systems.metering.flow[0][1]", "-1"},
		{"no clutch", "whinchat-pt", func(s *Systems) { s.Clutch = nil }, "systems", "drives the rotor through nothing"},
		{"two on one belt", "whinchat-pt", func(s *Systems) { s.Engines = append(s.Engines, s.Engines[0]) }, "systems.engines", "2 engines"},
		{"one magneto", "whinchat-pt", func(s *Systems) { s.Engines[0].Magnetos = s.Engines[0].Magnetos[:1] }, "systems.engines[0].magnetos", "1 magnetos"},
		{"carb heat that is no lever", "whinchat-pt", func(s *Systems) { s.Engines[0].CarbHeat = "heat" }, "systems.engines[0].carb_heat", "not a lever"},
		{"no RPM governor", "whinchat-pt", func(s *Systems) { s.Engines[0].RPMHold = "govern" }, "systems.engines[0].rpm_hold", "govern"},
		{"belt that nothing tightens", "whinchat-pt", func(s *Systems) { s.Clutch.Lever = "" }, "systems.clutch.engage", "no condition"},
		{"belt with lever and motor", "whinchat-pt", func(s *Systems) { s.Clutch.Engage = "battery" }, "systems.clutch.engage", "no motor"},
		{"belt by a switch", "whinchat-pt", func(s *Systems) { s.Clutch.Lever = "battery" }, "systems.clutch.lever", "not a lever"},
		{"clutch of a turbine", "turnstone-st", func(s *Systems) { s.Clutch = &Clutch{} }, "systems.clutch", "freewheel"},
		{"sweeps without FADEC", "turnstone-st", func(s *Systems) { s.Engines[0].Sweeps = []string{"tot"} }, "systems.engines[0].sweeps", "only a FADEC"},
		{"magnetos of a turbine", "turnstone-st", func(s *Systems) { s.Engines[0].Magnetos = []string{"feed"} }, "systems.engines[0].magnetos", "no magnetos"},
		{"carb heat of a twin", "dunlin-lt", func(s *Systems) { s.Engines[1].CarbHeat = "collective" }, "systems.engines[1].carb_heat", "no carburettor"},
		{"start button that is none", "dunlin-lt", func(s *Systems) { s.Engines[0].Starter = "batery" }, "systems.engines[0].starter", "batery"},
		{"throttle of a FADEC", "dunlin-lt", func(s *Systems) { s.Engines[0].Throttle = "collective" }, "systems.engines[0].throttle", "meters the fuel"},
		{"FADEC of a piston", "whinchat-pt", func(s *Systems) { s.FADEC = &FADEC{} }, "systems.fadec", "no FADEC"},
		{"bleed of a piston", "whinchat-pt", func(s *Systems) { s.Engines[0].Bleed = "battery" }, "systems.engines[0].bleed", "no bleed air"},
		{"passage that closes", "whinchat-pt", func(s *Systems) { s.Piston.Passage = Curve{{0, 0}} }, "systems.piston.passage[0][1]", "0 is out of range"},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := profileOf(t, test.profile)
			test.spoil(&p.Systems)
			for _, f := range p.Compile() {
				if f.Path == test.path && strings.Contains(f.Problem, test.problem) && f.Remedy != "" {
					return
				}
			}
			t.Errorf("faults: %v", p.Compile())
		})
	}
}

// A fourth aircraft needs no Go: the hand-metered turbine flies with two engines as well, and the twin with one.
func TestAnyNumberOfEnginesIsData(t *testing.T) {
	p := turnstone(t)
	p.Systems.Engines = append(p.Systems.Engines, p.Systems.Engines[0])
	if faults := p.Compile(); len(faults) > 0 {
		t.Fatal(faults)
	}
	// The captions that ask for engine 1 go on asking for it; both engines hang on one throttle.
	r := newRig(t, p, fairWeather, "hover")
	if !r.is("alight1") || !r.is("alight2") || r.read("nr") < 99 {
		t.Errorf("alight %v and %v, NR %.1f", r.is("alight1"), r.is("alight2"), r.read("nr"))
	}
}

func TestEmptyProfileIsRefused(t *testing.T) {
	var p Profile
	if len(p.Compile()) == 0 {
		t.Error("an empty profile compiles")
	}
	if _, err := New(new(Profile), fairWeather, ""); err == nil {
		t.Error("a profile that was never compiled can be flown")
	}
	if _, err := New(dunlin(t), fairWeather, "on the moon"); err == nil {
		t.Error("an unknown state is taken")
	}
}

// A document cannot reach what Compile makes.
func TestCompiledIsNoPartOfTheDocument(t *testing.T) {
	d := yaml.NewDecoder(strings.NewReader("name: x\ncompiled: {ready: true}\n"))
	d.KnownFields(true)
	if err := d.Decode(new(Profile)); err == nil || !strings.Contains(err.Error(), "compiled") {
		t.Errorf("error %v", err)
	}
}

// The keyboard is a map of the cockpit: every control of the light twin stands in the zone of its row.
func TestZones(t *testing.T) {
	p := dunlin(t)
	for id, want := range map[string]Zone{
		"battery": Overhead, "pitot": Overhead, "fire_test": Panel, "cut2": Panel, "lever1": Console,
		"rotor_brake": Console, "collective": Hands, "hand_signal": Hands,
	} {
		if got := p.Controls[mustIndex(t, p, id)].Zone(); got != want {
			t.Errorf("%s stands in %s, want %s", id, got, want)
		}
	}
	if i, ok := p.ControlAt("z"); !ok || p.Controls[i].ID != "collective" {
		t.Errorf("key z moves %d", i)
	}
	if _, ok := p.ControlAt("/"); ok {
		t.Error("key / moves something")
	}
	keys := map[string]bool{}
	for _, row := range KeyRows() {
		for _, key := range row.Keys {
			if keys[key] {
				t.Errorf("key %s is there twice", key)
			}
			keys[key] = true
		}
	}
	if len(keys) != 12+12+11+9 {
		t.Errorf("%d keys", len(keys))
	}
}

func TestLeverNotches(t *testing.T) {
	c := Control{Travel: &Travel{From: 0, To: 1.2, Step: 0.1}}
	if c.Count() != 13 || c.Label(3) != "0.3" || c.Label(12) != "1.2" || c.Label(13) != "" || c.Label(-1) != "" {
		t.Errorf("%d notches: %q", c.Count(), c.labels())
	}
	for _, written := range []string{"0.3", "0.30", "3e-1"} {
		if i, ok := c.Index(written); !ok || i != 3 {
			t.Errorf("%s is notch %d", written, i)
		}
	}
	for _, written := range []string{"", "0.35", "2", "x", "NaN", "-0.1"} {
		if i, ok := c.Index(written); ok {
			t.Errorf("%q is notch %d", written, i)
		}
	}
}

func TestScopeReadsWhatTheAircraftShows(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "hover")
	for src, want := range map[string]bool{
		"collective == 60":              true,
		`nr_select == "flight"`:         true,
		`lights in ["all"]`:             true,
		"battery and not ext_power":     true,
		"nr > 99 and airborne":          true,
		"guard_posted and not oil1":     true,
		"low_nr or gong or fire_bell":   false,
		"oat == 12 and height > 1":      true,
		"new_warning or new_caution":    false,
		`hyd_shut != "normal"`:          false,
		"stick_force < 0.1 and trim_on": true,
	} {
		c, err := condition.Compile(src, r.profile.Scope())
		if err != nil {
			t.Errorf("%s: %v", src, err)
			continue
		}
		if c.Holds(r.Readings()) != want {
			t.Errorf("%s is %v", src, !want)
		}
	}
}
