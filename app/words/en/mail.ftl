# What notices say. Every message may also use { $shop } and { $email }.

knives = { $n ->
    [one] 1 knife
   *[other] { $n } knives
  }
life-last = this would be the last time
life-about = about { $n } more at your habit
life-span = about { $low } to { $high } more at your habit
life-years = { $services }, about { $low } to { $high } years
life-years-up-to = { $services }, within about { $high } years

mail-see-visit = See your visit
mail-keep = Keep this mail: its link opens your page and nobody else should have it. Questions? Write to { $email }.
mail-questions = Questions? Write to { $email }.
mail-astray = Did the parcel go astray? Write to { $email }.
mail-greeting = Good day, { $name },
mail-with-tag = { $name } (tag { $tag })
mail-height = { $span } of height

mail-fact-reference = Reference
mail-fact-knife = Knife { $n }
mail-fact-work = Work in all
mail-fact-ready-by = Ready by
mail-fact-price = Price
mail-fact-booked-as = Booked as
mail-fact-steel = Steel it takes
mail-fact-after = Afterwards
mail-fact-advice = We advise

## Booked
mail-booked-subject = Please confirm your booking { $reference }
mail-booked-heading = { $knives } booked: please confirm
mail-booked-say = Somebody with this mail address, we hope you, booked { $knives } with { $shop }. The booking counts once you confirm it. Without that it is dropped by itself, and you hear no more of it.
mail-booked-button = Look at it and confirm
mail-booked-ready-post = { $day }, if they leave by { $by }
mail-booked-ready-counter = { $day }, if they come at the time below
mail-booked-range = The price is a range because nobody has measured your knives yet. Within it we go ahead; beyond it we ask you first.
mail-bring-heading = Bringing them
mail-bring-say = We expect you on { $time } at { $place }. Please carry each blade wrapped in card or a towel.
mail-pack-heading = How to pack a blade
mail-pack-rule = { $rule } (Asked of the carrier on { $day }.)
mail-pack-to = Send to: { $shop }, { $place }, { $country }. The slip to put inside is on your page.

## A complaint was taken in
mail-complained-subject = We look at it again: { $reference }
mail-complained-heading = Something was not right; we look at it again
mail-complained-say = You told us about visit { $about }. Send or bring these back under the reference below, and we look at them without charge; what was our fault is put right for nothing. We have { $day } for it in mind. If it turns out to need other work, we ask you first.

## A price is asked
mail-quote-subject = Your answer, please: { $reference }
mail-quote-heading = We have measured, and need your answer
mail-quote-again-subject = Still waiting for your answer: { $reference }
mail-quote-again-heading = Your knives wait for your answer
mail-quote-again-say = We asked you this some days ago. Until you answer, the work stands still and the promised day moves.
mail-quote-say-one = One of your knives turned out to be more, or other, work than you booked. We do nothing to it until you have said yes or no.
mail-quote-say-many = Some of your knives turned out to be more, or other, work than you booked. We do nothing to them until you have said yes or no.
mail-quote-button = Say yes or no
mail-quote-no = If you say no, the knife goes back as it is; we ask { $amount } for measuring it. The days until we have your answer come on top of the promised day.
mail-quote-no-free = If you say no, the knife goes back as it is; nothing is asked for measuring it. The days until we have your answer come on top of the promised day.

## Answered
mail-answered-subject = Your answer is noted: { $reference }
mail-answered-heading = Thank you, your answer is noted
mail-answered-no = goes back as it is
mail-answered-yes = agreed at { $amount }
mail-answered-say = { $amount } of work is agreed. It goes into line now; we have { $day } for it in mind, and write if that moves.

## Called off
mail-cancelled-subject = Called off: { $reference }
mail-cancelled-heading = Your booking is called off
mail-cancelled-say = We have taken { $knives } with the reference { $reference } off our list. Nothing is to be paid. Please do not send them any more; if they are on their way already, tell us at { $email }.
mail-cancelled-small = If this was a mistake, simply book again.

## New links
mail-links-subject-one = A new link to your visit { $reference }
mail-links-subject-many = New links to your visits
mail-links-say = You, or somebody who knows your mail address, asked { $shop } for this. The links below open your pages.
mail-links-label = { $reference }, { $knives } booked on { $day }
mail-links-knives-heading = All your knives
mail-links-knives-say = This link opens once, within a day: every knife of yours with its record, what is left of it, and when it may want us again.
mail-links-knives-button = Open all my knives
mail-links-small = If you did not ask for it, nothing is to be done; older links go on working until their day is over.

## Questions and answers
mail-answer-subject = Our answer: { $reference }
mail-answer-heading = You asked; here is our answer
mail-question-subject = A question from the shop: { $reference }
mail-question-heading = We have a question
mail-written-button = Write back on your page
mail-written-small = The page keeps questions and answers together with your visit; an answer to this mail reaches us too.

## A knife is due for service
mail-due-subject-one = One of your knives may want us again
mail-due-subject-many = Some of your knives may want us again
mail-due-say = You asked us to say when a knife may be due for service. By how often you have brought them so far, it is about time for these. If they still cut as you like, leave them: every service costs steel.
mail-due-last = last here on { $day }
mail-due-book = Book a sharpening
mail-due-knives = Open all my knives
mail-due-why = You get this because you asked for it on your page. One click ends it:
mail-due-stop = No more of these reminders

## Received
mail-received-subject-none = Not in the parcel: { $reference }
mail-received-subject = { $n ->
    [one] Your knife is here: { $reference }
   *[other] Your { $n } knives are here: { $reference }
  }
mail-received-heading-none = We have opened your parcel
mail-received-heading = { $n ->
    [one] 1 knife has arrived
   *[other] { $n } knives have arrived
  }
mail-received-held = held: see below
mail-received-tag = tag { $tag }
mail-received-missing-heading = Not in the parcel
mail-received-missing = Did it stay at home, or was the parcel damaged? Please write to { $email }.
mail-received-held-heading = Held until we know which knife it is
mail-received-held-say = We never guess which knife is which. If it has been with us before, its mark or an old bill helps us.
mail-received-next = Next we measure. Within the booked price we go ahead; beyond it we ask you first. We have { $day } for it in mind.

## We do not do one
mail-refused-subject = One we cannot do: { $reference }
mail-refused-heading = { $name }: we cannot do this one
mail-refused-a-knife = A knife
mail-refused-recycle = Nothing is asked for it. You asked us to recycle a blade we have to refuse; tell us within a week if you want it back after all.
mail-refused-back = Nothing is asked for it. It goes back to you as it came.
mail-refused-damaged = Nothing is asked for the work. The knife goes back to you as it is now. Please write to us how you would like it made good.

## Lost or damaged here
mail-lost-subject = We cannot find your knife: { $reference }
mail-lost-heading = { $name }: we cannot find it
mail-lost-say = We are sorry. It was in our hands, so this is ours to make good. We go on looking and write as soon as it turns up; nothing is asked for the work. Please write to us what it was worth to you.
mail-damaged-subject = Damaged while with us: { $reference }
mail-damaged-heading = { $name }: it was damaged while with us
mail-damaged-say = We are sorry. It was in our hands, so this is ours to make good. We have stopped and look at whether the work can go on. If you want to be asked before it does, please write to us.
mail-righted-subject-found = Found again: { $reference }
mail-righted-heading-found = { $name }: it is found
mail-righted-found = We wrote that we could not find it. It is here again, and the work goes on from where it stood.
mail-righted-subject-sound = Not damaged after all: { $reference }
mail-righted-heading-sound = { $name }: it is not damaged
mail-righted-sound = We wrote that it was damaged. That was a mistake: we have looked again, and it is as it was.
mail-settled-subject = Settled with you: { $reference }
mail-settled-heading = { $name }: settled with you
mail-settled-replaced = As agreed, you get another knife for it.
mail-settled-paid = As agreed, we pay for it.
mail-settled-amount = It comes to { $amount }.

## Ready
mail-ready-subject-one = Ready: { $name } ({ $reference })
mail-ready-subject-many = Ready: your { $n } knives ({ $reference })
mail-ready-heading-one = Your knife is ready
mail-ready-heading-many = Your { $n } knives are ready
mail-ready-say-one = It has passed its check and is ready.
mail-ready-say-many = They have passed their check and are ready.
mail-ready-rest = { $n ->
    [one] One more knife of the same visit is still on the way; we write again.
   *[other] { $n } more knives of the same visit are still on the way; we write again.
  }
mail-ready-post = We pack it now and write again with the parcel's number. Open the parcel away from you: what is in it is sharp.
mail-ready-counter = Come and fetch it at { $place }.
mail-ready-button = See what was done
mail-ready-small = A freshly ground edge is sharper than you remember. Do not test it on skin.

## Later than promised
mail-delay-subject = Later than we said: { $reference }
mail-delay-heading = We need longer than we said
mail-delay-before = Promised before
mail-delay-now = Promised now
mail-delay-say = We are sorry. If the new day does not suit you, answer this notice or call: work that has not begun can be called off.
mail-delay-button = See how it stands

## More than agreed
mail-more-subject = A question about your knife ({ $reference })
mail-more-heading = It needs more than we agreed
mail-more-your-knife = your knife
mail-more-say = While working on { $name } we found this: { $what }
mail-more-price = With it the work on this knife would cost { $amount } in all.
mail-more-stopped = We have stopped and grind no further before you say so.
mail-more-ask = Please answer this notice: shall we go on, or leave it as it is?
mail-more-ask-phone = Please answer this notice or call { $phone }: shall we go on, or leave it as it is?

## Gone home
mail-returned-subject = Handed back: { $reference }
mail-returned-subject-post = On the way to you: { $reference }
mail-returned-heading = { $knives } handed back
mail-returned-heading-post = { $knives } on the way to you
mail-returned-carrier = Carrier
mail-returned-number = Parcel number
mail-returned-open = Open the parcel away from you: the edges are sharp.
mail-returned-thanks = Thank you for coming. Mind the edges: they are sharp.
mail-returned-paid = Paid: { $amount }.
mail-returned-ledger-heading = What was done, and what is left
mail-returned-ledger-say = Each knife has its own page: what we measured, what was ground off, how many more services it has.
mail-returned-ledger-button = The ledger of { $name }
mail-returned-late = { $knives } still here.
mail-returned-small = Is something not right? Tell us within two weeks on your page or at { $email }; we look at our own work again without charge.

## Chased
mail-not-arrived-subject = Not here yet: { $reference }
mail-not-arrived-heading = Your knives are not here yet
mail-not-arrived-say = We expected { $knives } by now, reference { $reference }. If they are on the way, nothing is to be done. If they have not left, send them soon or call the booking off: we keep the place a while longer and then give it away.
mail-lapsed-subject = Taken off our list: { $reference }
mail-lapsed-heading = We have given your place away
mail-lapsed-say = What you booked under { $reference } never reached us, so it is off our list. Nothing is to be paid. If it comes after all we take it in, with a new day; or simply book again.
mail-unfetched-subject = Still here for you: { $reference }
mail-unfetched-heading = { $knives } ready and waiting for you
mail-unfetched-say = Come and fetch them at { $shop }, { $place }.
mail-unfetched-small = Can you not come? Write to { $email }, and we find a way.

## Calendar entries
cal-bring = Bring knives to { $shop }
cal-bring-say = Reference { $reference }. Please carry each blade wrapped.
cal-bring-alarm = Bring the knives
cal-send = Send knives to { $shop }
cal-send-say = Reference { $reference }. Send them by today to keep the promised day. How to pack a blade is on the page.
cal-send-alarm = Send the knives
cal-fetch = Fetch knives from { $shop }
cal-promised = Knives promised at { $shop }
cal-fetch-say = Reference { $reference }. We write as soon as they are ready.
