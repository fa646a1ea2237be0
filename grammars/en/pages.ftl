# The pages in a browser: `companion review serve`.

pages-title = { $title } · review
pages-of-the-record = Review of the record
skip-to-the-content = Skip to the content
bar-pages = Pages
page-sessions = Sessions
page-search = Search
page-statistics = Statistics
page-repeats = Readings, hearing and time
statistics-of-statistics = Drift
statistics-of-repeats = Readings, hearing and time
page-session = Session
page-compare = Compare
page-not-shown = Not shown
page-not-here = Not here
no-such-page = There is no such page.
no-such-session = There is no session “{ $session }” here.
all-sessions = All sessions
search-the-record = Search the record
words-to-search-for = Words to search for
words-or-a-number = Words or a plate
not-named = not named
and-more = and { $count } more
scale-and-way = { $unit }, + is { $way }

# Turning over pages of a list.
pages-of-the-list = Pages of the list
pages-first = First
pages-last = Last
pages-before = ← Page { $number }
pages-after = Page { $number } →
pages-here = Page { $number }
pages-here-of = Page { $number } of { $of }

# The list.
filters = Filters
filter-from = From
filter-until = Until
filter-any = any
filter-only = Only
filter-all = all of them
filter-sorted-by = Sorted by
filter-show = Show
filter-show-all = Show all
column-technician = Technician
column-vehicle = Vehicle
column-bay = Bay
column-result = Result
column-opened = Opened
column-stood-out = What stood out
column-signed = Signed
no-session-fits = No session fits.
sessions-many = More than 10,000 sessions, { $order }.
sessions-counted =
    { $count ->
        [one] { $count } session, { $order }.
       *[other] { $count } sessions, { $order }.
    }
sorted-by = sorted by { $order }
order-newest = newest first
order-oldest = oldest first
order-stood_out = what stood out the most
order-not_understood = least understood
order-technician = technician
order-vehicle = vehicle
order-bay = bay
order-result = result
only-unsigned = over, not signed off
only-signed = signed off
only-stood_out = something stood out
only-no_rehearsal = no rehearsals
only-rehearsal = rehearsals only
choose-to-compare = Choose to compare
compare-the-session-of = Compare the session of { $when }
compare-those-chosen = Compare those chosen
compare-how-many = two to six at a time
signed-yes = yes
signed-no = no
list-in-stage = in { $stage }
list-before-the-first-stage = before the first stage
list-damaged = { $count } { $count ->
        [one] damaged event
       *[other] damaged events
    }
list-unlikely = { $count } { $count ->
        [one] unlikely reading
       *[other] unlikely readings
    }
list-odd-moves = { $count } { $count ->
        [one] move not as planned
       *[other] moves not as planned
    }
list-taken-back = { $count } taken back
list-notes = { $count } { $count ->
        [one] note
       *[other] notes
    }
list-not-understood = { $count } not understood
list-breaks = { $count } { $count ->
        [one] break
       *[other] breaks
    }
list-corrections = { $count } { $count ->
        [one] correction
       *[other] corrections
    }
list-clock = clock not vouched for
list-rehearsal = rehearsal
list-example = example files

# The search.
search-words = Words
search-where = Where
whose-anywhere = anywhere
whose-said = said by the companion
whose-heard = heard from the technician
whose-noted = kept: notes, readings, answers
filter-car = Order, plate or VIN
visit-named = visit { $visit }
jobs-of-visit = The jobs of visit { $visit }: one car on one order.
found-visits =
    { $count ->
        [one] One visit's car fits (order, plate or VIN)
       *[other] The cars of { $count } visits fit (order, plate or VIN)
    }
all-their-jobs = All jobs of these cars
search-note = All words must occur in the same event. "Words in quotes" follow each other; a word ending in * may go on. A number is also found as it was said: 806 finds “{ $said }”.
nothing-found = Nothing was found.
found-sessions =
    { $count ->
        [one] { $count } session.
       *[other] { $count } sessions, the newest first.
    }
found-sessions-on-page =
    { $count ->
        [one] { $count } session on page { $page }.
       *[other] { $count } sessions on page { $page }, the newest first.
    }
session-of = Session of { $when }
and-more-in-this-session = and more in this session
# The kinds of event that a search finds.
kind-said = said
kind-heard = heard
kind-refused = refused
kind-noted = noted
kind-opened = opened
kind-accepted = accepted
kind-answered = answered
kind-decided = decided
kind-aim_decided = aim decided
kind-corrected = corrected
kind-stopped = stopped
kind-doubted = unlikely
kind-not_allowed = not allowed
kind-misfit = misfit
kind-amended = amended
kind-signed_off = signed off

# The comparison.
compare-choose = Choose two to { $most } sessions in the list to compare; { $chosen } were chosen.
sessions-compared = Sessions compared
sessions-side-by-side = Sessions side by side
differs = differs:
compare-note = ≠ marks what differs; among measured values, those further apart than twice the uncertainty of the difference. For the stand and the bay, the first value of each session is shown: as they were found, before anything was moved. Bars: two standard uncertainties either way.
compare-as-left = { $title }, as left
came-back = This car was here before: this job beside the one of its last visit
compare-screws = Screws, round by round
compare-answers = Answers taken, denied, refused
compare-events = Events
compare-lasted = Lasted
compare-then = { $before }; then { $turns }
compare-before = { $title }, before
compare-last = { $title }, last
compare-as-found = { $title }, as found

# Statistics.
drift-title = Is a floor or a stand drifting?
column-floor = Floor
column-stand = Stand
column-sessions = Sessions
column-latest = Latest
changed-on = changed on { $day }
state-steady = steady
state-too-few = too few
drift-changed = { $changed } of { $of } floors and stands changed.
drift-too-few = There are too few sessions to tell; { $least } of a bay are needed.
drift-steady = No floor and no stand changed.
drift-unknown =
    { $unknown ->
        [one] For one floor or stand there are too few sessions to tell.
       *[other] For { $unknown } floors and stands there are too few sessions to tell.
    }
drift-note = A change is a reason to survey the floor or check the stand, not a verdict. In a shop where nothing moves, this page calls something changed at most { $percent } times in a hundred, all charts of all bays together.
drift-nothing = Nothing that should stay the same was measured in any session yet.
charts-title = One bay in detail
whose-sessions = Whose sessions
bay-and-its-stand = Bay and its stand
anybody = anybody
sessions-in-bay = { $count ->
        [one] { $count } session in { $bay }.
       *[other] { $count } sessions in { $bay }.
    }
sessions-in-bay-by = { $count ->
        [one] { $count } session in { $bay } by { $technician }.
       *[other] { $count } sessions in { $bay } by { $technician }.
    }
charts-note = Each point is one session's first value: as found, before anything was corrected. Each point links to its job. The line is the median; where a chart changed, there is one before and one since, and the points since are squares.
charts-nothing = Nothing that should stay the same was measured in this bay.
chart-told = { $count } sessions. { $told }
chart-on = on { $day }
chart-between = between { $before } and { $after }
chart-changed = Changed { $when }: the median went from { $before } to { $after }.
chart-steady = Steady: median { $median }.
chart-too-few = Too few to tell: { $count } sessions, { $least } are needed.
chart-earlier = { $count } earlier sessions are not shown.
values-and-jobs = Values and jobs
values-and-jobs-of = Values and jobs of { $title }
column-job-of = Job of
repeats-title = Do readings repeat?
repeats-note = What should stay the same in one bay, read again from session to session. Within: how one person's (or one stand's) readings scatter. Between: how far people (or stands) differ beyond that scatter. One-way random-effects analysis of variance, by moments; standard deviations, in the measure's unit. The plate is set up anew each time, so its scatter holds the set-up too.
repeats-by-technician = By technician, in this bay
repeats-by-bay = By bay and its stand
column-measure = Measure
column-within = Within
column-between = Between
column-between-share = Between, of the whole variance
column-groups = Groups (sessions)
repeats-needed = This needs two or more of them, and one with two sessions or more.
spread-note = Middle mark: mean. Bar: two standard deviations of one reading either way.
spread-told = { $name }: mean { $mean }
hearing-title = How often are answers misheard, and in how much noise?
hearing-by-noise = Hearing by noise
column-background = Background
column-spoken-answers = Spoken answers
hearing-refused = Refused
hearing-denied = Denied when said back
percent-of-answers = % of answers
share-of = { $share } of { $of }
noise-level-not-kept = level not kept
noise-from-to = { $low } to { $high } dBFS
hearing-note = Bars: 95 % score intervals (Wilson 1927). Denied: something was taken, said back, and the technician said no or gave another number; a misreading of the scale counts here too. Typed answers and silence are left out.
nothing-spoken = No answer was spoken in these sessions.
time-title = Where does the day go?
times-title = Minutes by stage, the longest first
times-unit = minutes
time-note = Minutes a session spends in each stage: the middle mark is the median, the bar holds the middle half of the sessions; the percentage is the stage's part of all the time. Breaks are left out.
no-stage-begun = No stage was begun in these sessions.
