"""Words on terminal and page that a reader may not know, a sentence each; keys and quantities tell of themselves."""

from typing import Final

#: Other forms under which a word may be looked up.
ALSO: Final = {
    "yours": "stated",
    "origin": "stated",
    "worth": "worth its hours",
    "mean": "central value",
    "expectation": "central value",
    "not worth its hours": "worth its hours",
    "not worth their hours": "worth its hours",
    "worth their hours": "worth its hours",
    "uncertainty": "standard uncertainty",
    "±": "standard uncertainty",
    "sampling error": "sampling",
    "standard error": "sampling",
    "95 %": "19 times in 20",
    "regime": "regime boundary",
    "boundary": "regime boundary",
    "border": "regime boundary",
    "design tried": "designs tried",
    "avoided per hundred": "avoided per 100",
    "rung": "step",
    "level": "level with",
    "=": "level with",
    "near-equal": "nearly as good",
    "fresh": "fresh points",
    "proposed": "proposal",
    "avoided": "avoided per 100",
    "the model's own error": "the model itself",
    "model's own error": "the model itself",
    "not told apart": "told apart",
    "on and off": "on/off pair",
}

#: By word, in the order in which a list shows them.
GLOSSARY: Final = {
    "met": "The chance of what is required is as high as asked, even at the low end of its sampling interval.",
    "not met": "The chance of what is required is lower than asked, even at the high end of its sampling interval.",
    "not decided": "What is asked lies within the sampling error of what was found: more samples would tell.",
    "chance": "Share of all firings that the study's uncertainties allow in which something holds.",
    "at most": "Of a requirement, the largest value that will do; of what a measurement leaves, a bound: it may be"
    " less.",
    "at least": "Of a requirement, the smallest value that will do; of what a measurement takes off, a bound: it may be"
    " more.",
    "sampling": "Error of a figure because only so many points were computed: one standard error after a ±, half of the"
    " 95 % interval in a table's brackets. More samples make it smaller; it says nothing of the hardware.",
    "standard uncertainty": "How far a quantity may be off. A ± in a sentence is one; of a normal distribution 68 % lie"
    " within one of it and 95 % within two.",
    "19 times in 20": "With a chance of 95 %: one time in 20 the value lies outside.",
    "18 times in 20": "With a chance of 90 %: one time in 20 the value lies below, one time in 20 above.",
    "if known exactly": "The standard uncertainty that would be left if this one input were known without error.",
    "after this measurement": "The standard uncertainty that is left once this measurement is made, on average over"
    " what it may read.",
    "worth its hours": "A measurement is worth its hours if it takes the target's worth (2 % if left out) off the"
    " standard uncertainty, and more than its sampling error.",
    "avoided per 100": "How many wrong verdicts a measurement avoids in a hundred such decisions.",
    "alone": "What would go of the squared standard uncertainty if this input were known exactly.",
    "in all": "What an input carries of the squared standard uncertainty, together with the others too.",
    "level with": "The sampling error does not tell which of two carries more; a table marks the lower with =.",
    "the model itself": "How far the calculation may be off even with every input right: a row of its own.",
    "pair": "Two electrodes that face each other across the gas, with a source of their own.",
    "on/off pair": "Two readings, power on and power off, whose difference is the effect.",
    "central value": "Expectation of what the study says of an input; `solve` computes there.",
    "given contact": "Among the firings in which the voltage reaches the gas, so that a current flows through it.",
    "designs tried": "Each is one choice of all that is varied, computed in a search.",
    "proposal": "The best design that a search found within the limits; fresh points judge it.",
    "fresh points": "Points that had no part in choosing a design, so that its figures are not flattered.",
    "nearly as good": "A design elsewhere in the ranges whose result wanted is hardly worse than the proposal's.",
    "trade-off curve": "Designs of which none is better in both results wanted: more of one costs some of the other.",
    "told apart": "Two designs are told apart in a result if the 95 % interval of their difference leaves out zero.",
    "regime boundary": "A threshold past which a stage behaves otherwise, so that what was learnt on one side says"
    " little of the other.",
    "ladder": "Designs of growing size, fired one after another on the way from a small stage to a larger one.",
    "step": "One design of a ladder, between the two studies of `scale`.",
    "break-even": "The value at which acceleration just pays for the mass that it needs.",
    "stated": "The study says it.",
    "assumed": "The study does not state it, and the value taken for it is a guess that you may replace.",
}
