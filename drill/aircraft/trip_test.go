package aircraft

import (
	"testing"
	"time"
)

// A generator that has tripped comes back by one reset, by its switch or by its button, and stays; one that has failed does not
// come back by any. Our own rule; one reset attempt, and no more, is common practice, no source.
func TestOneResetBringsBackWhatHasTripped(t *testing.T) {
	cases := []struct {
		profile *Profile
		reset   []string   // one reset, as a hand does it: a control and its positions
		other   func(*rig) // what a hand may try that is no reset
	}{
		{dunlin(t), []string{"gen1", "off", "on"}, moves("avionics", "essential")},
		{turnstone(t), []string{"gen_reset", "pressed"}, moves("generator", "off", "generator", "on")},
		{whinchat(t), []string{"alternator", "off", "on"}, moves("avionics", "off")},
	}
	for _, c := range cases {
		for _, point := range []string{"gen1.tripped", "gen1.failed"} {
			r := newRig(t, c.profile, fairWeather, "running")
			r.fail(point, 1)
			r.run(time.Second)
			if r.is("gen_online1") {
				t.Fatalf("%s: %s, and it stays on line", c.profile.Name, point)
			}
			c.other(r)
			if r.run(2 * time.Second); r.is("gen_online1") {
				t.Errorf("%s: %s, and it comes back without a reset", c.profile.Name, point)
			}
			for _, position := range c.reset[1:] {
				r.set(c.reset[0], position)
				r.run(300 * time.Millisecond)
			}
			r.run(2 * time.Second)
			if back := r.is("gen_online1"); back != (point == "gen1.tripped") {
				t.Errorf("%s: after a reset of %s it is on line: %v", c.profile.Name, point, back)
			}
			if r.run(time.Minute); point == "gen1.tripped" && !r.is("gen_online1") {
				t.Errorf("%s: it does not stay", c.profile.Name)
			}
		}
	}
}
