"""Chart builders: one function per figure, DataFrame in, Altair chart out."""
