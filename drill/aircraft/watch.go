package aircraft

import "hornlark/drill/condition"

// Of what an aircraft shows most stays as it is from one step to the next: lamps, horns, needles in their green bands. So a step goes
// through captions, alerts, gauges and the rest only while one of them counts time, or once a reading has passed a figure that one of
// their conditions is held against. The board keeps a bit of that for each of these:
const (
	watchCaptions condition.Watch = 1 << iota
	watchAlerts
	watchMutes
	watchGauges
	watchLimits
	watchSight
	watchOutside // hangs on severities alone
	watchTrips
	watchBuses
	watchBreakers
	watchEquipment
	watchMachinery

	watchAll = ^condition.Watch(0)
)

// watch has the conditions of the profile watched.
func (c *compiler) watch() {
	for i := range c.lamps {
		c.asked.Watched(watchCaptions, c.lamps[i].when)
	}
	for i := range c.dials {
		c.asked.Watched(watchGauges, c.dials[i].shown, c.dials[i].armed, c.dials[i].banded)
	}
	c.asked.Watched(watchAlerts, c.alertWhen...)
	c.asked.Watched(watchMutes, c.alertMute...)
	c.asked.Watched(watchLimits, c.inspectionWhen...)
	c.asked.Watched(watchSight, c.factSeen...)
	for i := range c.wiring.engines {
		c.asked.Watched(watchTrips, c.wiring.engines[i].genReset, c.wiring.engines[i].generator)
	}
	c.asked.Watched(watchBuses, c.wiring.busWhen...)
	c.asked.Watched(watchBreakers, c.wiring.breakersReset)
	c.asked.Watched(watchEquipment, c.wiring.equipOn...)
	w := &c.wiring
	for i := range w.engines {
		e := &w.engines[i]
		c.asked.Watched(watchMachinery, e.idle, e.flight, e.cut, e.fireTest, e.bleed, e.starter, e.magnetos[0], e.magnetos[1])
	}
	c.asked.Watched(watchMachinery, w.shut[0], w.shut[1], w.stirred, w.brake, w.engage)
}
