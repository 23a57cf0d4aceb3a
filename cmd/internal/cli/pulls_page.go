package cli

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"dropwalk/advice/pulls"
	"dropwalk/advice/report"
	"dropwalk/engine/quantity"
)

// pullsPage is what a log holds, in Markdown, with its pictures as blocks.
func pullsPage(r *pulls.Result, units quantity.System, pictures string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n\n%s\n\n", report.Escape(filepath.Base(r.File)), pullsShort(r))
	pullsChannels(&b, r)
	pullsFound(&b, r)
	pullsReadings(&b, r, units)
	b.WriteString(pictures)
	pullsGauges(&b, r, units)
	pullsTiming(&b, r)
	if len(r.Notes) > 0 {
		b.WriteString("## To be known\n\n")
		for _, n := range r.Notes {
			fmt.Fprintf(&b, "- %s\n", report.Escape(n))
		}
		b.WriteString("\n")
	}
	return b.String()
}

// pullsShort is the page in a sentence or two.
func pullsShort(r *pulls.Result) string {
	found := "no full-load pull"
	if n := len(r.Found); n > 0 {
		found = counted(n, "full-load pull")
	}
	text := fmt.Sprintf("%s, %d rows: %s", lasting(r.Seconds), r.Rows, found)
	if n := len(r.Readings); n > 0 {
		text += ", " + counted(n, "reading")
	}
	return text + "."
}

func lasting(seconds float64) string {
	switch {
	case seconds < 120:
		return fmt.Sprintf("%.0f s", seconds)
	case seconds < 7200:
		return fmt.Sprintf("%.0f min", seconds/60)
	}
	return fmt.Sprintf("%.1f h", seconds/3600)
}

// pullsChannels shows what was taken for what, so that it can be put right.
func pullsChannels(b *strings.Builder, r *pulls.Result) {
	b.WriteString("## What tells what\n\n| role | column | unit | new value | known by |\n|---|---|---|---|---|\n")
	var idle []string
	out := map[string]bool{}
	for _, x := range r.Rejected {
		out[x.Name] = true
	}
	for _, c := range r.Channels {
		if c.Role == pulls.NoRole {
			if !out[c.Name] {
				idle = append(idle, c.Name)
			}
			continue
		}
		fresh := "-"
		if c.RefreshS != nil {
			fresh = fmt.Sprintf("every %.2g s", *c.RefreshS)
		}
		unit := c.Unit
		if unit == "" {
			unit = "-"
		}
		fmt.Fprintf(b, "| %s | %s | %s | %s | %s |\n", c.Role, cellText(c.Name), cellText(unit), fresh, knownBy(c.By))
	}
	b.WriteString("\nIf one is wrong, say so: --column ROLE=NAME.\n\n")
	for _, x := range r.Rejected {
		fmt.Fprintf(b, "- Left out: %s; %s.\n", inQuotes(x.Name), report.Escape(x.Reason))
	}
	if len(idle) > 0 {
		fmt.Fprintf(b, "- Not needed: %s.\n", report.Escape(strings.Join(idle, ", ")))
	}
	b.WriteString("\n")
}

// cellText keeps a name from breaking a table.
func cellText(s string) string { return report.Escape(strings.ReplaceAll(s, "|", "/")) }

// inQuotes is a name of the recorder's in a sentence.
func inQuotes(name string) string { return report.Escape(strconv.Quote(name)) }

func knownBy(by string) string {
	switch by {
	case pulls.ByUser:
		return "you"
	case pulls.ByBehaviour:
		return "what it does"
	}
	return "its name"
}

func pullsFound(b *strings.Builder, r *pulls.Result) {
	b.WriteString("## Full-load pulls\n\n")
	if len(r.Found) == 0 {
		none := "None. `dropwalk help pulls` has the rule."
		if !hasRole(r, pulls.RPM) {
			none = "None: the log has no engine speed."
		}
		b.WriteString(none + "\n\n")
	}
	for i, p := range r.Found {
		fmt.Fprintf(b, "%d. At %s, for %.1f s: %.0f to %.0f rpm%s. %d fresh samples.", i+1, report.Escape(p.Start), p.EndS-p.StartS, p.RPMLow, p.RPMHigh, gearText(r, p), p.Samples)
		if p.Flow != nil {
			fmt.Fprintf(b, " Air flow at %.0f rpm: %s (%s to %s) %s.", r.Reference, shortNumber(p.Flow.Median), shortNumber(p.Flow.Low), shortNumber(p.Flow.High), report.Escape(unitOfRole(r, pulls.Flow)))
		}
		if p.Doubtful != "" {
			fmt.Fprintf(b, " Doubtful: %s.", report.Escape(p.Doubtful))
		}
		b.WriteString("\n")
	}
	b.WriteString("\n")
	if len(r.Nearly) > 0 {
		b.WriteString("Nearly, and what they lack:\n\n")
		for i, n := range r.Nearly {
			if i == mostNearly {
				fmt.Fprintf(b, "- and %d more\n", len(r.Nearly)-i)
				break
			}
			fmt.Fprintf(b, "- %.1f s after the start, %.0f to %.0f rpm: %s\n", n.StartS, n.RPMLow, n.RPMHigh, report.Escape(n.Lacks))
		}
		b.WriteString("\n")
	}
	if len(r.Gears) > 1 {
		var list []string
		for _, g := range r.Gears {
			list = append(list, fmt.Sprintf("%d: %s", g.Number, shortNumber(g.RPMPerKmh)))
		}
		fmt.Fprintf(b, "Gears in this log, by rpm per km/h: %s. They count from the lowest gear that was used.\n\n", strings.Join(list, ", "))
	}
}

// mostNearly is how many stretches are listed that are nearly pulls.
const mostNearly = 5

func gearText(r *pulls.Result, p pulls.Pull) string {
	switch {
	case p.RPMPerKmh == nil:
		return ""
	case p.Gear == nil:
		return fmt.Sprintf(", %s rpm per km/h", shortNumber(*p.RPMPerKmh))
	}
	return fmt.Sprintf(", gear %d of %d (%s rpm per km/h)", *p.Gear, len(r.Gears), shortNumber(*p.RPMPerKmh))
}

func unitOfRole(r *pulls.Result, role pulls.Role) string {
	for _, c := range r.Channels {
		if c.Role == role {
			return c.Unit
		}
	}
	return ""
}

func hasRole(r *pulls.Result, role pulls.Role) bool {
	return slices.ContainsFunc(r.Channels, func(c pulls.Channel) bool { return c.Role == role })
}

// pullsGauges says what the gauges tell apart from engine speed: how pressure
// goes with air flow, and whether two of them agree.
func pullsGauges(b *strings.Builder, r *pulls.Result, units quantity.System) {
	if len(r.Fits)+len(r.Pairs) == 0 {
		return
	}
	b.WriteString("## Gauges\n\n")
	for _, f := range r.Fits {
		fmt.Fprintf(b, "- %s goes with %s to the power of %.2f (%.2f to %.2f), %d samples.\n", inQuotes(f.Name), inQuotes(f.Over), f.Exponent.Median, f.Exponent.Low, f.Exponent.High, f.Samples)
	}
	for _, p := range r.Pairs {
		fmt.Fprintf(b, "- %s and %s seem to be on one place: after zeroing, the second shows %.1f %% of the first, with a scatter of %s.\n",
			inQuotes(p.First), inQuotes(p.Second), 100*p.Ratio, quantity.Show(p.ScatterPa, quantity.PressureDiff, units))
	}
	b.WriteString("\n")
}

func pullsReadings(b *strings.Builder, r *pulls.Result, units quantity.System) {
	if len(r.Readings) == 0 {
		return
	}
	fmt.Fprintf(b, "## Readings at %.0f rpm\n\n| pull | column | suction | with 95 %% | exponent |\n|---|---|---|---|---|\n", r.Reference)
	show := func(pa float64) string { return quantity.Show(pa, quantity.PressureDiff, units) }
	for _, x := range r.Readings {
		fmt.Fprintf(b, "| %d | %s | %s | %s to %s | %.2f +- %.2f |\n", x.Pull, cellText(x.Name), show(x.Pa.Median), show(x.Pa.Low), show(x.Pa.High),
			x.Exponent.Median, (x.Exponent.High-x.Exponent.Low)/2)
	}
	b.WriteString("\nThe exponent is that of suction over engine speed; a firm path has about 2.\n\n")
	for _, x := range r.Readings {
		if x.Doubtful != "" {
			fmt.Fprintf(b, "- Pull %d is doubtful: %s.\n", x.Pull, report.Escape(x.Doubtful))
		}
		if x.Spikes > 0 {
			fmt.Fprintf(b, "- Pull %d: %s left out as a spike.\n", x.Pull, counted(x.Spikes, "sample"))
		}
	}
	for _, z := range r.Zeros {
		if z.From != pulls.ZeroNone {
			fmt.Fprintf(b, "- The zero of %s is %s, %s.\n", inQuotes(z.Name), show(z.Pa), zeroText(z.From))
		}
	}
	b.WriteString("\n")
}

func zeroText(from string) string {
	switch from {
	case pulls.ZeroOff:
		return "while the engine stood"
	case pulls.ZeroIdle:
		return "while it idled"
	}
	return "without flow"
}

// pullsTiming says which channels come late.
func pullsTiming(b *strings.Builder, r *pulls.Result) {
	var lines []string
	for _, k := range r.Skew {
		var parts []string
		if k.ReadAfterS != nil && math.Abs(*k.ReadAfterS) >= 0.005 {
			parts = append(parts, fmt.Sprintf("is read %.2f s %s", math.Abs(*k.ReadAfterS), sooner(*k.ReadAfterS)))
		}
		if k.LagS != nil && math.Abs(*k.LagS) >= 0.02 {
			parts = append(parts, fmt.Sprintf("moves %.2f s %s %s", math.Abs(*k.LagS), map[bool]string{true: "after", false: "before"}[*k.LagS > 0], inQuotes(k.Against)))
		}
		if len(parts) > 0 {
			lines = append(lines, fmt.Sprintf("- %s %s", inQuotes(k.Name), strings.Join(parts, " and ")))
		}
	}
	if len(lines) > 0 {
		fmt.Fprintf(b, "## Skew\n\nThe channels are not of one moment; readings allow for it.\n\n%s\n\n", strings.Join(lines, "\n"))
	}
}

func sooner(after float64) string {
	if after > 0 {
		return "after engine speed"
	}
	return "before engine speed"
}

// shortNumber has three digits, no more than a person can use.
func shortNumber(v float64) string {
	if math.Abs(v) >= 100 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.3g", v)
}
