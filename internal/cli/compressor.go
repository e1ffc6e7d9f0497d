package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
)

func newCompressorCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "compressor SPEC",
		Short: "Line on the compressor map, surge and choke margin, shaft speed, charge cooling",
		Long: `compressor prints where each operating point lies on the compressor map: corrected flow,
pressure ratio, efficiency, surge and choke margin, shaft speed, the air before and after the
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
	return o.overSpeed(ctx, s, "compressor", compressorPart)
}

func compressorPart(r *sheet.Run) (p trimPart, err error) {
	p.add(r.Compressor())
	return p, nil
}
