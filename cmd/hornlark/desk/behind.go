package desk

import (
	"hornlark/drill"
	"hornlark/drill/logbook"
)

// behind tells whoever has done something what has come of it, and lets the instructor look behind the scenes: after an act of theirs at once.
// What was to be heard and seen has been carried out by then.
func (l *Live) behind(outputs []drill.Output) {
	if l.instructor == nil && l.asker == nil {
		return
	}
	var news []logbook.Entry
	for _, o := range outputs {
		if o, ok := o.(drill.Log); ok {
			news = append(news, o.Entry)
		}
	}
	acted := l.asker != nil
	if acted {
		l.asker.Told(news)
		l.asker = nil
	}
	if l.instructor == nil {
		return
	}
	for i := range news {
		l.instructor.Logged(&news[i], &l.view)
	}
	if !l.instructor.Present() {
		return
	}
	if len(outputs) > 0 || l.since(l.watched) >= frameGap {
		l.watched = l.clock.Now()
		l.sitting.View(&l.view)
		l.instructor.Update(&l.view)
	}
	if acted || l.since(l.staged) >= stageGap {
		l.staged = l.clock.Now()
		l.sitting.Backstage(&l.stage)
		l.instructor.Behind(&l.stage)
	}
}
