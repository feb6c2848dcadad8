"""The subcommands of ``fitter``, one module each; none of them loads a heavy library to show its help."""
