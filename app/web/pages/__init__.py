"""Pages, one file a screen. Each draws from panels or from the registers; none asks the database for case facts."""
