"""The drawing room: text set to measure, labels and papers, as pictures and as pages. Plain Python; knows no app."""
