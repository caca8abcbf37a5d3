"""What is believed: a noisy-MAX network of causes and questions, summed exactly."""
