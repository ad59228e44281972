"""Each hour and each evening judged for burning rows, with reasons."""
