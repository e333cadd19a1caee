package aircraft

// bay is the compartment of an engine, and the loop in it that detects fire.
type bay struct {
	burning float64 // how big the fire is, 0 to 1
	heatedK float64 // above the bay's normal temperature
	seen    bool    // by the detection, or by its test
}

// The fire's own figures: how hot a bay gets, when the loop trips, and how fast all that comes and goes.
const (
	fireHottestK = 600
	fireTripK    = 100
	fireGrowsS   = 1.5
	fireDiesS    = 4
	bayHeatsS    = 2
)

// stepBay lets a fire live on fuel and on nothing else, and has the detection look for it. A broken loop sees neither a
// fire nor its test.
func (m *model) stepBay(a *Aircraft, i int) {
	e, w := &m.engines[i], &m.profile.wiring.engines[i]
	b := &e.bay
	fire := a.severity[w.point+failFire]
	// The fire feeds on what runs out of the pressurised line, so the cut-off, not the selector, is what ends it.
	if fed := fire > 0 && !e.cut && m.fuel.supplyKg[i] > 0; fed {
		b.burning = lag(b.burning, fire, fireGrowsS)
	} else {
		b.burning = lag(b.burning, 0, fireDiesS)
	}
	b.heatedK = lag(b.heatedK, float64(b.burning*fireHottestK), bayHeatsS)
	whole := a.severity[w.point+failFireLoop] == 0
	tested := a.holds(w.fireTest) && m.elec.busOn[0]
	b.seen = whole && (tested || b.heatedK > fireTripK) || a.severity[w.point+failFireFalse] > 0
}
