package cli

import (
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice/air"
	"dropwalk/advice/duct"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
)

// Steps of the bore that a sheet doesn't know as components.
const expansion, contraction = "expansion", "contraction"

func nearest(word string, known []string) (string, bool) { return spell.Nearest(word, known) }

func (a *app) calcFriction() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "friction",
		Short:   "friction factor of a straight duct",
		Example: `dropwalk calc friction --reynolds 100000 --roughness-ratio 0.0001`,
	}
	textOptions(cmd, "reynolds", "Reynolds `number`", "roughness-ratio", "`height` of roughness over bore; smooth where not stated")
	return a.calculation(cmd, func(in *options) (answer, error) {
		re := in.need("reynolds", quantity.Number, "", span{1e-3, 1e9})
		rough := in.amount("roughness-ratio", quantity.Number, "", span{0, 0.1}, 0)
		r := answer{sources: []string{"Colebrook; laminar Hagen-Poiseuille below Re 2000, a blend up to 4000"}}
		found := duct.Friction(re, rough)
		r.object = struct {
			Friction float64  `json:"darcy_friction_factor"`
			Sources  []string `json:"sources"`
		}{found, r.sources}
		r.say("friction factor (Darcy): %s", plain(found))
		return r, nil
	})
}

func (a *app) calcLoss() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "loss",
		Short: "handbook loss of one piece of a path",
		Long: "The kinds and sizes are those of the test sheet, and besides them an expansion and a contraction of the bore from --diameter to " +
			"--to-diameter, whose figures are for the narrow bore. What isn't stated widens the answer; the band holds 90 % of pieces in real " +
			"intakes. Where no air is stated it is the reference air of ISO 1585: 25 C, 99 kPa, dry.",
		Example: `dropwalk calc loss --kind mouth --edge flush --diameter "70 mm" --flow "100 g/s"
dropwalk calc loss --kind duct --diameter "70 mm" --length "600 mm" --surface smooth --bend "90 deg/105 mm" --flow "100 g/s"
dropwalk calc loss --kind expansion --diameter "50 mm" --to-diameter "70 mm" --flow "100 g/s"`,
	}
	textOptions(cmd,
		"kind", "`kind` of piece: mouth, duct, filter and so on",
		"flow", "mass `flow` of the air",
		"diameter", "`bore`",
		"to-diameter", "`bore` behind an expansion or contraction",
		"width", "`width` of a rectangular passage",
		"height", "`height` of a rectangular passage",
		"length", "`length` along the middle, bends included",
		"edge", "`edge`: protruding, flush, rounded or bellmouth",
		"radius", "`radius` of a rounded edge",
		"surface", "`surface`: smooth or ribbed",
		"face", "`area` of a filter's face",
		"open-area", "open `share` of a screen",
		"share", "`share` of the flow that passes this piece")
	cmd.Flags().StringArray("bend", nil, "`bend` as angle/radius, such as \"90 deg/105 mm\"; may be repeated")
	densityOptions(cmd)
	return a.calculation(cmd, func(in *options) (answer, error) {
		if !in.given("kind") {
			in.refuse("one of: "+strings.Join(lossKinds(), ", "), "calc loss needs --kind")
		}
		kind := in.word("kind", lossKinds()...)
		flow := in.need("flow", quantity.MassFlow, "", span{1e-6, 10})
		gas, sources := in.density()
		var l pieceLoss
		if kind == expansion || kind == contraction {
			l = in.stepLoss(kind, flow, gas)
		} else {
			l = in.handbookLoss(kind, flow, gas)
		}
		if in.bad != nil {
			return answer{}, nil
		}
		l.sources = append(slices.Clone(l.sources), sources...)
		return l.answer(in), nil
	})
}

func lossKinds() []string { return append(slices.Clone(sheet.Kinds()), expansion, contraction) }

// pieceLoss is the loss of one piece in SI.
type pieceLoss struct {
	k, speed, head float64
	reynolds       float64 // 0 where there is no bore
	loss           banded
	sources        []string
}

func (l pieceLoss) answer(in *options) answer {
	r := answer{sources: l.sources}
	type object struct {
		K        float64  `json:"k"`
		Speed    float64  `json:"velocity_m_s"`
		Head     float64  `json:"velocity_head_pa"`
		Reynolds *float64 `json:"reynolds"`
		Loss     banded   `json:"loss_pa"`
		Sources  []string `json:"sources"`
	}
	found := object{K: l.k, Speed: l.speed, Head: l.head, Loss: l.loss, Sources: l.sources}
	r.say("loss: %s (between %s and %s)", in.show(l.loss.Median, quantity.PressureDiff), in.show(l.loss.Low, quantity.PressureDiff), in.show(l.loss.High, quantity.PressureDiff))
	r.say("K: %s velocity heads of %s", quantity.Format(l.k, 3), in.show(l.head, quantity.PressureDiff))
	r.say("air speed: %s m/s", quantity.Format(l.speed, 3))
	if l.reynolds > 0 {
		found.Reynolds = &l.reynolds
		r.say("Reynolds number: %s", quantity.Format(l.reynolds, 3))
	}
	r.object = found
	return r
}

// within sets the band of the central 90 % around a median.
func (l *pieceLoss) within(median, logSD float64) {
	wide := math.Exp(1.6448536269514722 * logSD)
	l.loss = banded{median, median / wide, median * wide}
}

func (l *pieceLoss) in(area, bore, flow float64, gas air.Gas) {
	l.speed = flow / (gas.Density * area)
	l.head = air.VelocityHead(gas.Density, l.speed)
	if bore > 0 {
		l.reynolds = gas.Density * l.speed * bore / gas.Viscosity
	}
}

// stepLoss is a sudden change of the bore, on the head in the narrow one.
func (o *options) stepLoss(kind string, flow float64, gas air.Gas) pieceLoss {
	from := o.need("diameter", quantity.Length, "", lengths)
	to := o.need("to-diameter", quantity.Length, "", lengths)
	for _, name := range []string{"width", "height", "length", "edge", "radius", "surface", "face", "open-area", "share", "bend"} {
		if o.given(name) {
			o.refuse("leave it out", "--%s has no meaning for an %s of the bore", name, kind)
		}
	}
	var l pieceLoss
	logSD := stepScatter
	switch {
	case o.bad != nil:
		return l
	case kind == expansion && to < from, kind == contraction && to > from:
		o.refuse("expansions go to a wider bore, contractions to a narrower one", "--diameter and --to-diameter make no %s", kind)
		return l
	case kind == expansion:
		l.k, l.sources = duct.Expansion(from, to), []string{"Borda-Carnot"}
	default:
		crane, rennels := duct.ContractionCrane(from, to), duct.ContractionRennels(from, to)
		l.k, l.sources = duct.Contraction(from, to), []string{"Crane TP-410 (2009)", "Rennels & Hudson (2012)"}
		if crane > 0 && rennels > 0 {
			logSD = math.Hypot(logSD, math.Log(rennels/crane)/2)
		}
	}
	narrow := min(from, to)
	l.in(math.Pi/4*narrow*narrow, narrow, flow, gas)
	l.within(l.k*l.head, logSD)
	return l
}

// stepScatter is the log standard deviation of a handbook figure in a real intake:
// nearer than five bores to the next fitting it is good to 20 to 30 % (from memory,
// medium confidence).
const stepScatter = 0.25

// handbookLoss is the loss of a component of a sheet.
func (o *options) handbookLoss(kind string, flow float64, gas air.Gas) pieceLoss {
	p := o.piece(kind)
	if o.given("to-diameter") {
		o.refuse("leave it out, or say --kind expansion or --kind contraction", "--to-diameter has no meaning for a %s", kind)
	}
	if o.bad != nil {
		return pieceLoss{}
	}
	found := duct.Handbook(p, flow, duct.Air(gas))
	l := pieceLoss{sources: found.Source}
	if p.Share > 0 {
		flow *= p.Share
	}
	switch {
	case kind == "filter":
		l.in(p.Face, 0, flow, gas)
	case p.Width > 0:
		l.in(p.Width*p.Height, duct.HydraulicDiameter(p.Width, p.Height), flow, gas)
	default:
		l.in(math.Pi/4*p.Diameter*p.Diameter, p.Diameter, flow, gas)
	}
	l.k = found.MedianPa / l.head
	l.within(found.MedianPa, found.LogSD)
	return l
}

// piece reads the sizes of a component.
func (o *options) piece(kind string) duct.Piece {
	size := func(name string) float64 { return o.amount(name, quantity.Length, "", lengths, 0) }
	p := duct.Piece{
		Kind: kind, Diameter: size("diameter"), Width: size("width"), Height: size("height"), Length: size("length"), Radius: size("radius"),
		Edge:     o.word("edge", "protruding", "flush", "rounded", "bellmouth"),
		Surface:  o.word("surface", "smooth", "ribbed"),
		Face:     o.amount("face", quantity.Area, "", span{1e-6, 10}, 0),
		OpenArea: o.amount("open-area", quantity.Share, "%", span{0.01, 0.99}, 0),
		Share:    o.amount("share", quantity.Share, "%", span{0.01, 1}, 0),
	}
	bends, _ := o.cmd.Flags().GetStringArray("bend")
	for _, text := range bends {
		p.Bends = append(p.Bends, o.bend(text))
	}
	switch {
	case kind == "filter" && p.Face == 0:
		o.refuse(`such as --face "0.04 m2"`, "calc loss needs --face for a filter")
	case kind != "filter" && p.Diameter == 0 && !(p.Width > 0 && p.Height > 0):
		o.refuse(`such as --diameter "70 mm", or --width and --height`, "calc loss needs the bore")
	}
	return p
}

// bend reads an angle and, behind a stroke, a radius.
func (o *options) bend(text string) duct.Bending {
	angle, radius, _ := strings.Cut(text, "/")
	turn, err := readQuantity(angle, quantity.Angle, "")
	if err != nil {
		o.fail(optionError("bend", err))
		return duct.Bending{}
	}
	if !(turn > 0 && turn <= math.Pi) {
		o.refuse("more than 0 and up to 180 deg", "--bend: an angle of %s can't be right", strings.TrimSpace(angle))
	}
	b := duct.Bending{Angle: turn}
	if strings.TrimSpace(radius) == "" {
		return b
	}
	if b.Radius, err = readQuantity(radius, quantity.Length, ""); err != nil {
		o.fail(optionError("bend", err))
	} else if !(b.Radius >= lengths.low && b.Radius <= lengths.high) {
		o.refuse(lengths.hint(quantity.Length), "--bend: a radius of %s can't be right", strings.TrimSpace(radius))
	}
	return b
}
