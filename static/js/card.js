// Drover
