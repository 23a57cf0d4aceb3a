package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/class"
	"dropwalk/advice/picture"
	"dropwalk/engine/quantity"
)

// Member is one person of a class.
type Member struct{ ID, Name string }

// ClassRoom is what a page on a class knows beside the figures.
type ClassRoom struct {
	Title   string
	Code    string              // of the class
	Members map[string][]Member // by group; nil on a page that everybody may see
	Groups  []string            // all of them, also those that handed nothing in
}

type classPage struct {
	*page
	C    *class.Class
	Room ClassRoom
}

// Class is the page on how well the groups of a class agree that measured one car: what
// to look at first, each pair of stations with the widest disagreement first, and what
// came in. Paragraphs and lists only, fit for 40 columns. Groups are called by their
// names and people by nothing, unless the room has members.
func Class(c *class.Class, room ClassRoom, o Options) string {
	return render("class.md.tmpl", &classPage{newPage(nil, nil, o), c, room})
}

// ClassPictures are the pictures of that page, for a form of it that shows images.
func ClassPictures(c *class.Class, o Options) []picture.Picture {
	return (&classPage{newPage(nil, nil, o), c, ClassRoom{}}).pictures()
}

// ClassHeadings are the headings of that page, in order.
func ClassHeadings() []string { return headingsOf("class.md.tmpl") }

// Main is the pair that tells most: of those that most groups read, the one with the
// largest reading, which is that of the most path. Nil where there is none.
func (p *classPage) Main() *class.Station {
	var best *class.Station
	for i := range p.C.Stations {
		s := &p.C.Stations[i]
		if best == nil || s.Groups > best.Groups || s.Groups == best.Groups && math.Abs(s.Median) > math.Abs(best.Median) {
			best = s
		}
	}
	return best
}

// Widest are the pairs with those ahead on which the groups differ most beside what
// they read.
func (p *classPage) Widest() []class.Station {
	list := slices.Clone(p.C.Stations)
	share := func(s class.Station) float64 {
		if s.Between == nil || s.Median == 0 {
			return -1
		}
		return *s.Between / math.Abs(s.Median)
	}
	slices.SortStableFunc(list, func(a, b class.Station) int { return cmp.Compare(share(b), share(a)) })
	return list
}

// Contested is the pair on which the groups differ much more, beside what they read,
// than on the main one; nil where there is none.
func (p *classPage) Contested() *class.Station {
	main, widest := p.Main(), p.Widest()
	if main == nil || main.Reproduced == nil || widest[0].Reproduced == nil || main.Median == 0 || widest[0].Median == 0 {
		return nil
	}
	if *widest[0].Reproduced/math.Abs(widest[0].Median) < 2**main.Reproduced/math.Abs(main.Median) {
		return nil
	}
	return &widest[0]
}

// pairAt is one pair as parts of the page see it.
type pairAt struct {
	*classPage
	Pair *class.Station
}

// At gives a pair to a part of the page.
func (p *classPage) At(s any) pairAt {
	switch s := s.(type) {
	case *class.Station:
		return pairAt{p, s}
	case class.Station:
		return pairAt{p, &s}
	}
	return pairAt{p, nil}
}

// Much writes by how much something is off, and which way.
func (p *classPage) Much(pa float64) string {
	way := "more"
	if pa < 0 {
		way = "less"
	}
	return p.rough(math.Abs(pa)) + " " + p.unitOf() + " " + way
}

// unitOf is the unit of all pressures of the page.
func (p *classPage) unitOf() string {
	size := 0.0
	if m := p.Main(); m != nil {
		size = m.Median
	}
	return p.unit(quantity.PressureDiff, size)
}

// Pa writes a pressure difference to three digits.
func (p *classPage) Pa(si float64) string {
	return quantity.ShowIn(rounded(si), quantity.PressureDiff, p.unitOf())
}

// Rough writes a scatter, of which two digits are known at the best.
func (p *classPage) Rough(si *float64) string { return p.rough(*si) + " " + p.unitOf() }

// Size is Rough of a figure that is there in any case.
func (p *classPage) Size(si float64) string { return p.rough(si) + " " + p.unitOf() }

// Bare is Rough without its unit.
func (p *classPage) Bare(si *float64) string { return p.rough(*si) }

func (p *classPage) rough(si float64) string {
	v, err := quantity.In(si, quantity.PressureDiff, p.unitOf())
	if err != nil {
		return "?"
	}
	digits := 2
	if v < 10 {
		digits = 1
	}
	if v >= 0.095 && v < 10 {
		return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0")
	}
	return quantity.Format(v, digits)
}

// Off writes how a group lies beside the median.
func (p *classPage) Off(g class.Group) string {
	size := math.Abs(g.Off)
	text := p.rough(size) + " " + p.unitOf()
	switch {
	case p.rough(size) == "0" || size < 0.005*math.Abs(g.Mean):
		return "at the median"
	case g.Off > 0:
		return text + " above the median"
	}
	return text + " below the median"
}

// MADs writes how many MADs that is.
func (p *classPage) MADs(g class.Group) string {
	if g.MADs == nil {
		return ""
	}
	return fmt.Sprintf("%.1f MAD", math.Abs(*g.MADs))
}

// Percent writes a share.
func (p *classPage) Percent(share float64) string {
	return quantity.Format(100*math.Abs(share), 1) + " %"
}

// Wide tells whether groups scatter so much more than runs that fittings explain it.
func (p *classPage) Wide(s *class.Station) bool {
	return s.Between != nil && *s.Between > *s.Repeatability
}

// Scattered is the group whose runs at a pair scatter more than those of the others, ""
// for none.
func (p *classPage) Scattered(s *class.Station) string {
	for _, f := range s.Flags {
		if f.Code == class.ScattersMore {
			return f.Group
		}
	}
	return ""
}

// Beyond tells by which figure such a group stands out: that of the test and the limit
// that it passed.
func (p *classPage) Beyond(s *class.Station) string {
	limit := s.CochranLimits.Straggler
	if *s.Cochran > s.CochranLimits.Outlier {
		limit = s.CochranLimits.Outlier
	}
	return fmt.Sprintf("Cochran's C is %.3f, its limit %.3f", *s.Cochran, limit)
}

// restless is a group with the pairs, beside the main one, at which its runs scatter
// much more than those of the others.
type restless struct {
	Group string
	Pairs []string
}

// Restless lists them, outliers only.
func (p *classPage) Restless() []restless {
	var out []restless
	main := p.Main()
	for i := range p.C.Stations {
		s := &p.C.Stations[i]
		for _, f := range s.Flags {
			if f.Code != class.ScattersMore || f.Level != class.Outlier || s == main {
				continue
			}
			at := slices.IndexFunc(out, func(r restless) bool { return r.Group == f.Group })
			if at < 0 {
				at, out = len(out), append(out, restless{Group: f.Group})
			}
			out[at].Pairs = append(out[at].Pairs, s.From+" to "+s.To)
		}
	}
	return out
}

// Differ tells whether groups differ by more than their runs explain.
func (p *classPage) Differ(r *class.Rest) bool { return r.P < 0.05 }

// MiddleOf is the median of the groups and their mean, in words.
func (p *classPage) MiddleOf(s *class.Station) string {
	mean := 0.0
	for _, g := range s.ByGroup {
		mean += g.Mean / float64(len(s.ByGroup))
	}
	return fmt.Sprintf("The median of the groups is %s, their mean %s", p.Pa(s.Median), p.Pa(mean))
}

// flagWords are what flags say of a group.
var flagWords = map[string]string{
	class.ScattersMore: "its runs scatter more than those of the others (Cochran)",
	class.LiesApart:    "its mean lies apart from the others (Grubbs)",
	class.HighH:        "Mandel's h is beyond its indicator",
	class.HighK:        "Mandel's k is beyond its indicator",
	class.FarOff:       "it is farther from the median than honest groups come",
}

// Flags lists what stands out at a pair, group by group.
func (p *classPage) Flags(s class.Station) []string {
	var out []string
	for _, g := range s.ByGroup {
		var said []string
		for _, f := range s.Flags {
			if f.Group == g.Group && flagWords[f.Code] != "" {
				said = append(said, flagWords[f.Code]+", "+f.Level)
			}
		}
		if len(said) > 0 {
			out = append(out, fmt.Sprintf("Group %s stands out: %s", esc(g.Group), strings.Join(said, "; ")))
		}
	}
	return out
}

// Sound counts the files of each group that count and of which nothing is said.
func (p *classPage) Sound() []string {
	count := map[string]int{}
	var order []string
	for _, h := range p.C.HandIns {
		if h.Counts && len(h.Remarks) == 0 {
			if count[h.Group] == 0 {
				order = append(order, h.Group)
			}
			count[h.Group]++
		}
	}
	slices.Sort(order)
	var out []string
	for _, g := range order {
		out = append(out, fmt.Sprintf("%s (%d)", esc(g), count[g]))
	}
	return out
}

// Remarked are the files of which something is said.
func (p *classPage) Remarked() []class.HandIn {
	var out []class.HandIn
	for _, h := range p.C.HandIns {
		if len(h.Remarks) > 0 {
			out = append(out, h)
		}
	}
	return out
}

// Uncounted is how many files don't count.
func (p *classPage) Uncounted() int {
	n := 0
	for _, h := range p.C.HandIns {
		if !h.Counts {
			n++
		}
	}
	return n
}

// People lists who is in a group, "" where nobody may see it.
func (p *classPage) People(group string) string {
	var list []string
	for _, m := range p.Room.Members[group] {
		list = append(list, esc(m.ID)+" "+esc(m.Name))
	}
	return strings.Join(list, ", ")
}

// groups shows the groups at one pair.
func (p *classPage) groups(name string, s *class.Station) picture.Picture {
	if s == nil || s.Interval == nil {
		return picture.Picture{}
	}
	unit := p.unitOf()
	var list []picture.Group
	middle := 0.0
	for _, g := range s.ByGroup {
		one := picture.Group{Label: g.Group, Runs: g.Values, Mean: g.Mean}
		if one.Out = s.Flagged(g.Group, class.LiesApart, class.HighH, class.FarOff); one.Out {
			one.Said = "stands out"
		}
		list = append(list, one)
		middle += g.Mean / float64(len(s.ByGroup))
	}
	all := assessment.Estimate{Median: middle, Low: s.Interval.Low, High: s.Interval.High}
	x := picture.Groups(fmt.Sprintf("Groups, %s to %s", s.From, s.To), list, all, "19 times in 20", picture.Options{Unit: unit, Figure: func(e assessment.Estimate) string {
		if e.High == e.Low {
			return strings.TrimSuffix(p.Pa(e.Median), " "+unit)
		}
		return strings.Replace(short(e, quantity.PressureDiff, unit), " "+unit, "", 1)
	}})
	x.Name = name
	return x
}

// pictures are those of the main pair and of the one on which the groups differ most,
// where that is another.
func (p *classPage) pictures() []picture.Picture {
	return slices.DeleteFunc([]picture.Picture{p.groups("groups", p.Main()), p.groups("groups-widest", p.Contested())}, picture.Picture.Empty)
}

// Pictured is a picture as a block of the text, or told in a sentence; "" where there
// is none of that name.
func (p *classPage) Pictured(name string) string {
	for _, x := range p.pictures() {
		switch {
		case x.Name != name:
		case p.o.Pictures == Told:
			return esc(x.Alt)
		case p.o.Pictures == Drawn:
			return PictureAsText(x, p.o.Columns)
		}
	}
	return ""
}
