package sheet

// base is a sheet without a fault or a warning. Tests break it in one place.
const base = `sheet: 1
title: Base
date: 2026-11-25
place: track
car:
  name: base
  engine:
    displacement: 1998 cc
    cylinders: 4
    strokes: 4
    induction: turbo
    boost: 70 kPa
reference:
  rpm: 6000
  air: {temperature: 25 C, pressure: 99 kPa, humidity: 0 %}
path:
- {name: mouth, kind: mouth, diameter: 60 mm, edge: protruding}
- {name: snorkel, kind: duct, diameter: 60 mm, length: 450 mm, bends: [{angle: 90 deg, radius: 90 mm}]}
- {name: tube, kind: duct, diameter: 65 mm}
gauges:
- {name: g25, range: 25 inH2O, division: 0.5 inH2O, accuracy: 2 %}
checks:
- {kind: leak, at: tube, start: 15 inH2O, end: 14.8 inH2O, seconds: 30}
readings:
- {run: 1, from: open-air, to: tube, gauge: g25, value: "12.5 inH2O", rpm: 6050}
changes:
- {date: 2026-11-20, component: snorkel, what: cleaned}
`
