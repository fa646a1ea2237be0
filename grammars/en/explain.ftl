# Where a result came from: `companion explain`.

explain-formula = Formula: { $name }, event { $event }
explain-formula-text = formula: { $text }
explain-source = source: { $source }
explain-inputs = Inputs:
explain-input = { $name } = { $value }: { $from }
explain-with-uncertainty = { $value } (u { $uncertainty })
explain-negative-of = the negative of { $what }
explain-the-reading = the reading { $name } ({ $title }), "{ $spoken }", event { $event }
explain-the-result = the result { $name }, worked out by { $formula }, event { $event }
explain-the-vehicle-file = { $name }, as the vehicle file says
explain-the-job-file = { $name }, as the job file says
explain-the-mount-file = { $name }, as the mount file says
explain-the-bay-file = { $name }, as the bay file says
explain-a-figure-of-the-job = a figure of the job file
explain-exact = Uncertainty of { $name }: none, its inputs are exact
explain-made-of-which = What the uncertainty of { $name } is made of (percent of its variance):
explain-made-of = what the uncertainty is made of:
explain-part = { $name } ({ $what })
explain-part-of-reading = { $name } ({ $title }: { $what })
explain-rounding = rounding, the same whenever these digits recur
explain-scale = the same at every take
explain-unknown-scatter = not stated whether it scatters, so not averaged away
explain-entered-for = the uncertainty entered for { $input } in { $step }
explain-said-back = { $value }: said back as "{ $spoken }" and confirmed, event { $event }
explain-takes = take { $take }, hearings needed { $attempts }
explain-used-in = used in: { $steps }
explain-no-formula = no formula
explain-no-longer = It has not counted since event { $event }: { $why }
explain-answered = answered { $choice }, event { $event }
explain-at-event = { $what }, event { $event }
explain-decision = Decision: { $title } ({ $step }), event { $event }
explain-limits = limits: { $limits }
explain-value-alone = the value alone has to be inside
explain-level = inside only with at least { $level }
explain-chance = probability inside: { $chance }; { $rule }
explain-answer = answer: { $answer } (time { $times })
explain-first-look = first look at { $levels } levels: it can have the screws turned, and calls nothing inside
explain-short-set = short set of { $levels } levels, with the beam's widths by the whole set before the turning
explain-look = look { $look } of at most { $most } at this position of the screws
explain-risk-spent = risk spent with it: { $risk }
explain-scatter = the readings scatter { $ratio } times as far as entered
explain-confirmed = and confirmed
explain-not-confirmed = not yet confirmed
explain-aim-answer = answer: { $answer }, { $confirmed }, after { $rounds ->
        [one] { $rounds } round
       *[other] { $rounds } rounds
    } on the screws and { $sets ->
        [one] { $sets } set
       *[other] { $sets } sets
    }
explain-taken-over = taken over: { $name }, { $source }
