package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

func newCompressorCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "compressor SPEC",
		Short: "Line on the compressor map, surge and choke margin, shaft speed, charge cooling",
		Long: `compressor prints where each operating point lies on the compressor map: corrected flow,
pressure ratio, efficiency, surge and choke margin, shaft speed, the air before and behind the
compressor, and what the charge cooler does to it.`,
		Example: "  bellmouth compressor examples/hillclimb.yaml --trim open",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runCompressor(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runCompressor(ctx context.Context, s streams, o options) error {
	return o.overSpeed(ctx, s, "compressor", needs("compressor"), func(doc *table.Document, r *sheet.Run) error {
		doc.Tables = append(doc.Tables, r.Compressor())
		return nil
	})
}
