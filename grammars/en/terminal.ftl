# What `companion review list`, `search`, `drift` and `companion rehearse` print.

# The list.
column-added = Added
list-from-to = { $first } to { $last }
list-from-to-of = { $first } to { $last } of { $total }
list-continue = { $told }; continue with --page { $page }
list-signatures = { $count } { $count ->
        [one] sign-off
       *[other] sign-offs
    }
list-no-job-yet = The record holds no job yet. Make one with: companion start
list-no-such-result = No job ended as “{ $result }”; those here ended as: { $results }.
list-nothing-fits = No job fits all of that. Leave out an option to see more.

# The search.
search-no-word = No word to look for was given.
search-more = More jobs hold it; --limit shows more than { $limit }.

# The events of one job.
shown-head = head { $hash }, { $events } events

# The drift of bays.
bay-not-named = a bay not named
drift-nothing-measured = Nothing that should stay the same was measured.
drift-cell-changed = changed: { $changes }
drift-cell-change = { $what } on { $day }
drift-latest-job = The latest job in { $bay }: { $what } has likely changed, since { $since }.

# The rehearsal.
rehearsal-begins = Rehearsal { $seed }, session { $session }. { $about }
rehearsal-truth = Hidden truth of the bay: sideways { $yaw }, height { $elevation }.
rehearsal-truth-inside = That is inside the tolerance, after { $rounds ->
        [one] { $rounds } round
       *[other] { $rounds } rounds
    } on the screws.
rehearsal-truth-outside = That is OUTSIDE the tolerance, after { $rounds ->
        [one] { $rounds } round
       *[other] { $rounds } rounds
    } on the screws.
rehearsal-heard = Of { $answers } answers { $right } were heard right, { $wrong } as something else, and { $refused } were refused.
rehearsal-slip = Slip made: { $slip }
rehearsal-slip-read = Slip made: { $slip }, { $read } instead of { $right }
rehearsal-report = Report: { $file }
slip-kind-swaps_digits = two digits swapped
slip-kind-off_by_ten = off by ten
slip-kind-off_by_one = off by one
slip-kind-reads_other_side = read at the other side
slip-kind-mixes_up_direction = direction mixed up
slip-kind-moves_wrong_way = moved the wrong way
slip-kind-wrong_amount = wrong amount
slip-kind-screw_wrong_way = screw turned the wrong way
slip-kind-other_screw = another screw turned
slip-kind-late = answered late
slip-kind-says_it_twice = said it twice
slip-kind-out_of_grammar = said something else
slip-kind-silent = said nothing
slip-kind-says_wait = said wait
slip-kind-says_repeat = asked for it again
slip-kind-says_go_back = went back
slip-kind-asks_where = asked where we are
slip-kind-confirms_wrong = confirmed what was wrong
slip-kind-overlooks_in_group = overlooked a wrong one among several

# Practising.
practise-begins = Practice in a simulated bay, kept in no record. { $about }
practise-how = Read the instruments that are shown, and answer. Say that you have done what you are asked to do: it is done.
practise-hands = To get a move wrong, type *2 before you say it is done (twice as far), *-1 (the other way) or *0 (nothing).
practise-stage = Only stage { $number } of { $of }, { $title }: the simulated technician does what comes before.
practise-will-do = your hands: { $times } times what is asked for
practise-nothing-to-do = nothing is to be moved now; type * and how many times as far when something is
practise-nothing-asked = Nothing is asked in this stage, or not in this bay. The other stages: companion files.
practise-went-back = The job goes back to stage { $number }, { $title }. The practice of one stage ends there; for all of them: companion practise
practise-over = Practice over.
practise-answers = { $answers } { $answers ->
        [one] answer
       *[other] answers
    } in { $minutes } minutes; the companion spoke for { $spoken } of them.
practise-heard-all = Every answer was understood.
practise-not-understood = Not understood: { $words }
practise-word = “{ $words }”, { $times } { $times ->
        [one] time
       *[other] times
    }
practise-no-words = Something was heard that was no answer, { $times } { $times ->
        [one] time
       *[other] times
    }.
practise-silences = Nothing was heard { $times } { $times ->
        [one] time
       *[other] times
    }.
practise-read-right = Every reading that counted was the one shown.
practise-read-wrong = Confirmed wrongly: { $title }, { $taken } instead of { $shown }
practise-did-otherwise = Done { $times } times as far: { $what }
practise-screw = { $screw }, { $turns } { $sense }
practise-shim = a shim of { $amount }
practise-place = a place by the readings { $figures }
practise-then = Again from another bay: companion practise --seed { $seed }
