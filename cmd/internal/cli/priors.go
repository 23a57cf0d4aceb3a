package cli

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"dropwalk/advice/learn"
	"dropwalk/advice/model"
)

// priors are what dropwalk learn wrote, where the user names it.
type priors struct{ file string }

func (p *priors) flag(cmd *cobra.Command) {
	cmd.Flags().StringVar(&p.file, "priors", "", "`file` that dropwalk learn wrote: what your own cars say of pieces, beside the handbook")
}

// learnt is a file of priors; nil is none.
type learnt struct{ *learn.Priors }

// modelOrNil is what package model takes, nil for the handbook alone.
func (l *learnt) modelOrNil() *model.Priors {
	if l == nil {
		return nil
	}
	return l.Model()
}

// priorsAndText gives the priors and the file that they were read from.
func (a *app) priorsAndText(p priors) (*learnt, string, error) {
	if p.file == "" {
		return nil, "", nil
	}
	src, err := readBounded(p.file)
	if os.IsNotExist(err) {
		return nil, "", &usageError{fmt.Sprintf("--priors: there is no file %q", p.file), "dropwalk learn DIR --out FILE writes one"}
	}
	if err != nil {
		return nil, "", plainPath(err)
	}
	read, faults := learn.Read(p.file, src)
	printFaults(a.Err, faults)
	if read == nil {
		return nil, "", shown(errInput)
	}
	return &learnt{read}, string(src), nil
}
