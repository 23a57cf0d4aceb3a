package engine

import (
	"fmt"
	"strings"

	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// ruleTest is one example beside a rule: what must become of the step for given
// facts. Facts that it doesn't name are not known.
type ruleTest struct {
	rule  *rules.Rule
	given map[string]subject.Value
	want  string
	at    *strictyaml.Node // what is expected, in the file
}

// examples reads those beside a rule. They are tried by Check.
func (l *loader) examples(rule *rules.Rule, list *strictyaml.Node, known names) {
	if list == nil {
		return
	}
	for _, item := range list.Items {
		t := ruleTest{rule: rule, given: map[string]subject.Value{}, want: item.Get("then").Str(), at: item.Get("then")}
		given := item.Get("given")
		for _, pair := range given.Pairs {
			fact, ok := known.Fact(pair.Key)
			if !ok {
				l.atKey(codeExamples, given, pair.Key, fmt.Sprintf("nobody knows the fact %q", pair.Key), strictyaml.Either(rule.Facts()), "")
				continue
			}
			if value, fault := factValue(fact, pair.Value.Str()); fault != "" {
				l.at(codeExamples, pair.Value, fmt.Sprintf("%q can't be %q", pair.Key, pair.Value.Str()), fault, "")
			} else {
				t.given[pair.Key] = value
			}
		}
		l.tests = append(l.tests, t)
	}
}

// factValue reads what an example says of a fact. The fault completes
// "expected ...".
func factValue(f subject.Fact, text string) (v subject.Value, fault string) {
	v = subject.Value{Known: true, Word: text, Text: text}
	switch f.Kind {
	case quantity.Text:
		return v, ""
	case quantity.Choice:
		for _, word := range f.Choices {
			if word == text {
				return v, ""
			}
		}
		return v, strictyaml.Either(f.Choices)
	case quantity.Truth:
		v.Truth = text == "true"
		if text != "true" && text != "false" {
			return v, "true or false"
		}
		return v, ""
	}
	want := quantity.Want{Kind: f.Kind}
	if f.Kind == quantity.Rotation {
		want.Unit = "rpm" // as in a rule
	}
	amount, err := quantity.Read(text, want)
	if err != nil || !amount.Known() {
		return v, "a value of the kind " + string(f.Kind) + ", with its unit"
	}
	v.Number = amount.SI
	return v, ""
}

// outcome is what the rule makes of the step, and why.
func (t ruleTest) outcome() (got, why string) {
	value := func(name string) subject.Value { return t.given[name] }
	switch t.rule.Eval(value) {
	case rules.False:
		return hidden, "the rule is false then"
	case rules.True:
		return shown, "the rule is true then"
	}
	return shown, "the rule can't be decided without " + strings.Join(t.rule.Missing(value), ", ") + ", and such a step is shown"
}
