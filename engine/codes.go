package engine

// Codes of what Load holds. They are stable: programs that read faults go by
// them. Each has its row in the table of rules.
const (
	codeYAML        = "yaml"
	codeForm        = "form"
	codeName        = "name"
	codeSameID      = "same-id"
	codeParts       = "parts"
	codeUnknownName = "unknown-name"
	codeFills       = "fills"
	codeRule        = "rule"
	codeBraces      = "braces"
	codeExamples    = "examples"
	codeRounds      = "rounds"
	codeBackTo      = "back-to"
	codeCarState    = "car-state"
	codeCarMoves    = "car-moves"
	codeOwed        = "owed"
	codeIfStopped   = "if-stopped"
	codeCauses      = "causes"
	codeCheckRow    = "check-row"
	codeLikelihood  = "likelihood"
)
