package aircraft

import (
	"testing"
	"time"
)

// limited is the twin with one limit of its own, which nothing but the test passes.
func limited(t *testing.T, hold time.Duration) *rig {
	t.Helper()
	p := dunlin(t)
	p.Inspections = []Inspection{{ID: "lights", When: `lights == "all"`, For: hold, Text: "The lights have to be inspected."}}
	if faults := p.Compile(); len(faults) > 0 {
		t.Fatal(faults)
	}
	return newRig(t, p, fairWeather, "")
}

// reports counts what is reported of the limit.
func (r *rig) reports() (n int) {
	r.Drain(func(c Change) {
		if c.Kind == InspectionDue && c.Index == 0 {
			n++
		}
	})
	return n
}

// A limit is passed once its condition has held for longer than it says, without a break, and is reported once and for good.
func TestInspectionIsDueOnce(t *testing.T) {
	r := limited(t, 2*time.Second)
	r.set("lights", "all")
	r.run(1500 * time.Millisecond)
	r.set("lights", "flash")
	r.run(time.Second)
	r.set("lights", "all")
	r.run(1900 * time.Millisecond)
	if n := r.reports(); n != 0 || r.InspectionDue(0) {
		t.Fatalf("reported %d times, due %v, after it had held for 1.5 and 1.9 s", n, r.InspectionDue(0))
	}
	r.run(200 * time.Millisecond)
	if n := r.reports(); n != 1 || !r.InspectionDue(0) {
		t.Fatalf("reported %d times, due %v, after 2.1 s", n, r.InspectionDue(0))
	}
	r.run(10 * time.Second)
	r.set("lights", "off")
	r.run(time.Second)
	r.set("lights", "all")
	r.run(10 * time.Second)
	if n := r.reports(); n != 0 || !r.InspectionDue(0) {
		t.Errorf("reported %d times more, due %v", n, r.InspectionDue(0))
	}
}

// Without a time of its own it is passed with the step in which its condition holds; a clone goes its own way.
func TestInspectionAtOnce(t *testing.T) {
	r := limited(t, 0)
	twin := r.Clone()
	r.set("lights", "all")
	r.run(StepLength)
	if n := r.reports(); n != 1 {
		t.Errorf("reported %d times", n)
	}
	for range 100 {
		twin.Step()
	}
	if twin.InspectionDue(0) {
		t.Error("its twin is to be inspected too")
	}
}

func TestFaultsOfInspections(t *testing.T) {
	for path, spoil := range map[string]func(*Inspection){
		"inspections[0].id":   func(in *Inspection) { in.ID = "The lights" },
		"inspections[0].when": func(in *Inspection) { in.When = "" },
		"inspections[0].for":  func(in *Inspection) { in.For = -time.Second },
		"inspections[0].text": func(in *Inspection) { in.Text = "" },
	} {
		p := dunlin(t)
		p.Inspections = p.Inspections[:1]
		spoil(&p.Inspections[0])
		found := false
		for _, f := range p.Compile() {
			found = found || f.Path == path
		}
		if !found {
			t.Errorf("nothing is wrong with %s", path)
		}
	}
	p := dunlin(t)
	p.Inspections[1].ID = p.Inspections[0].ID
	if faults := p.Compile(); len(faults) != 1 || faults[0].Path != "inspections[1].id" {
		t.Errorf("two limits of one id: %v", faults)
	}
}

// The peak of TOT is that of the last start: it stays when TOT sinks, and begins anew with the next one.
func TestTOTPeakOfTheLastStart(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	r.prepare()
	first := r.startEngine("1")
	if peak := r.read("tot_peak1"); peak < first.peak-1 || peak > first.peak+1 || r.read("tot1") > peak-100 {
		t.Errorf("peak %.0f, and TOT now %.0f; the start went to %.0f", peak, r.read("tot1"), first.peak)
	}
	r.set("lever1", "shut")
	r.run(60 * time.Second)
	if peak := r.read("tot_peak1"); peak < first.peak-1 {
		t.Errorf("shut down, the peak is %.0f", peak)
	}
	hot := r.read("tot1")
	r.light("1")
	r.run(2 * time.Second)
	if peak := r.read("tot_peak1"); peak > hot+1 {
		t.Errorf("a new start began at %.0f, and the peak is %.0f", hot, peak)
	}
	highest := hot
	r.run(60*time.Second, func() { highest = max(highest, r.read("tot1")) })
	if peak := r.read("tot_peak1"); highest < hot+100 || peak < highest-1 || peak > highest+1 {
		t.Errorf("the second start went to %.0f, and the peak is %.0f", highest, peak)
	}
}
