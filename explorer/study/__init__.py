"""What all questions share: the problem, joint inputs and samples, limits and regimes, what outcomes mean."""
