"""Talk that is not of the trade, so that a model learns what to reject. Written for this project."""

SUBJECTS = tuple(
    "my neighbour|the old teacher|her brother|our dog|the children|a tall waiter|his uncle|the postman|their cat"
    "|the baker|somebody|nobody in the village|the young doctor|my grandmother|the singer|a farmer|the plumber"
    "|your cousin|the whole family|that lawyer|the librarian|our guests|the painter|a kind stranger".split("|")
)
DOINGS = tuple(
    "bought|has forgotten|is washing|likes|was looking for|cooked|never found|carried|painted|wrote about|lost"
    "|has broken|sold|wants to keep|remembers|is talking about|hid|polished|borrowed|complained about|dreamt of"
    "|laughed at|would rather have|drew".split("|")
)
THINGS = tuple(
    "a wooden boat|the yellow kitchen|three red apples|some warm soup|an umbrella|the garden chairs|a birthday cake"
    "|that funny book|the washing machine|a bag of potatoes|his winter coat|the bicycle|their holiday photographs"
    "|a glass of milk|the piano|an interesting film|her grey gloves|the broken lamp|chocolate biscuits|a bunch of tulips"
    "|the lottery ticket|a blanket|new shoes|the television|a cup of coffee|the dentist|his homework|a parcel".split("|")
)
ENDINGS = tuple(
    "yesterday|on the sofa|because it was raining|before breakfast|at the supermarket|with great pleasure|for dinner"
    "|in the summer|without saying a word|last weekend|at the theatre|and then fell asleep|when she was little"
    "|after school|under the bed|during the concert|near the harbour|once more|for his mother|as usual".split("|")
)
SENTENCES = tuple(
    "the weather is lovely this morning|could you please close the window|i think we should go home now"
    "|what would you like to drink|the train to the city was twenty minutes late|she sells flowers at the market"
    "|can you hear me over there|put the kettle on please|i will call you back later tonight|that is not what i meant"
    "|did you see the football match|let me know when dinner is ready|he never reads the newspaper|how much does it cost"
    "|we are going to the beach on sunday|turn the music down a little|i have no idea what happened|thank you very much indeed"
    "|the keys are on the table|please leave a message after the tone|your order has been confirmed|one moment please"
    "|the number you have dialled is not available|press the star key to continue|all our agents are busy|happy birthday to you"
    "|it takes about an hour by car|my phone battery is almost empty|do not forget to water the plants|good night and sleep well"
    "|there is a spider in the bathroom|who left the lights on again|they moved to another country|i am feeling much better today"
    "|this soup needs more salt|he plays the violin beautifully|what time does the shop open|we ran out of sugar and butter"
    "|the meeting has been moved to thursday|could somebody help me carry this|that was a really long story|never mind it is fine".split(
        "|"
    )
)
