"""Papers: schedules as spreadsheets, and everything printed, from answers."""
