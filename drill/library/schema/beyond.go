package schema

// Limit is something that is wrong with documents and that no schema can say.
type Limit struct {
	Name  string
	About string // in a sentence
}

// Beyond lists all of them: what a schema takes, the loader refuses for one of these reasons alone. A test holds both to it.
func Beyond() []Limit {
	return []Limit{
		{"references", "What a document names has to be there: in itself, in the profile, or in other documents. With an aircraft the names are those that it has."},
		{"doubles", "What has a name of its own has to be the only one with it."},
		{"neighbours", "What is told by its place: groups stand together, a hold comes before what it holds, phases follow each other."},
		{"conditions", "What stands in a condition is a language of its own."},
		{"times", "How long a time is: a schema sees its text."},
		{"figures", "Figures that have to fit each other: the ends of scales, bands and curves, notches of levers, gaps and windows, sums."},
		{"overlays", "What a profile that is laid over another one makes of that."},
		{"spelling", "How YAML is written: tabs, anchors, tags, characters that nobody sees; 0x10, 1e2 and True, which YAML takes for numbers and truths."},
		{"model", "What the model of an aircraft does when it is flown."},
	}
}
