package practice

// CalibrationBins is how many equal parts probabilities are put into to be held against what came true.
const CalibrationBins = 10

// Calibration holds what was said against what came true: of every look, the probability that was given just before it, and whether the
// thing was then known.
type Calibration struct {
	Looks   int
	Squares float64 // sum of the squares of said less came true (1 or 0)
	Bins    [CalibrationBins]Bin
}

// Bin is the looks of which much the same was said: bin i is those from i/10 to less than (i+1)/10, the last with 1.
type Bin struct {
	Looks, Right int
	Sum          float64 // of what was said
}

// Said is the mean of what was said, 0 to 1; 0 of no looks.
func (b *Bin) Said() float64 { return part(b.Sum, b.Looks) }

// Came is the part that came true, 0 to 1; 0 of no looks.
func (b *Bin) Came() float64 { return part(float64(b.Right), b.Looks) }

func part(sum float64, of int) float64 {
	if of == 0 {
		return 0
	}
	return sum / float64(of)
}

// Add takes in one look.
func (c *Calibration) Add(said float64, right bool) {
	b := &c.Bins[min(CalibrationBins-1, max(0, int(said*CalibrationBins)))]
	came := 0.0
	if right {
		came = 1
		b.Right++
	}
	b.Looks++
	b.Sum += said
	c.Looks++
	c.Squares += float64((said - came) * (said - came))
}

// All is all looks as if they were of one bin.
func (c *Calibration) All() (all Bin) {
	for i := range c.Bins {
		b := &c.Bins[i]
		all.Looks, all.Right, all.Sum = all.Looks+b.Looks, all.Right+b.Right, all.Sum+b.Sum
	}
	return all
}

// Brier is the score of Brier (1950): the mean square of what was said less what came true. 0 is perfect, 0.25 is what a half said of
// everything scores. Of no looks it is 0.
func (c *Calibration) Brier() float64 { return part(c.Squares, c.Looks) }

// Murphy divides the score into three by bins (Murphy 1973): how far what was said is from what came true (reliability, the less the better),
// how far the bins are from the whole (resolution, the more the better), and how uncertain the whole is. Brier is reliability - resolution +
// uncertainty where all of a bin were given the same probability, and nearly so otherwise.
func (c *Calibration) Murphy() (reliability, resolution, uncertainty float64) {
	all := c.All()
	base := all.Came()
	for i := range c.Bins {
		b := &c.Bins[i]
		share, said, came := part(float64(b.Looks), c.Looks), b.Said(), b.Came()
		reliability += float64(share * (said - came) * (said - came))
		resolution += float64(share * (came - base) * (came - base))
	}
	return reliability, resolution, float64(base * (1 - base))
}
