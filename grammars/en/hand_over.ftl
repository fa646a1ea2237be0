# The hand-over: one page for the person who takes the car.

hand-over-title = Hand-over
hand-over-title-of-session = Hand-over, session { $session }
hand-over-visit = Visit { $visit }
hand-over-rehearsal = A rehearsal in a simulated bay. No car was worked on.
hand-over-example = Made with example files, not a maker's values. No car may be judged by this page.

hand-over-car = The car
hand-over-order = Order
hand-over-plate = Plate
hand-over-vin = VIN
hand-over-odometer_km = Odometer
hand-over-type = Type
hand-over-complaint = What was asked for
hand-over-which-car = Which car
hand-over-no-car = not recorded: this page does not say which car it was

hand-over-done = What was done
hand-over-as-found = As found
hand-over-not-measured = not measured
hand-over-as-left = As left
hand-over-sideways = Sideways
hand-over-height = Height
hand-over-answer = { $label }: { $value }.
hand-over-answer-reason = Why
hand-over-answer-faults_before = Fault codes before
hand-over-answer-faults_after = Fault codes after
hand-over-answer-road_test = Road test
hand-over-road-test_good = driven, all well
hand-over-road-test_bad = driven, still wrong
hand-over-road-test_later = still to be driven
hand-over-road-test_left_out = left out
hand-over-by-at = Done by { $who }, { $when }.
hand-over-in-the-record = In the record: session { $session }, code { $code }.
hand-over-trouble = The record of this job is not as it was written: { $what }

hand-over-codes = Fault codes
hand-over-codes-before = Codes before
hand-over-codes-after = Codes after
hand-over-codes-before-but-none = These do not agree: codes before the work are listed, and the technician said that none was stored. Clear that up before the car leaves.
hand-over-codes-after-none-but-stored = These do not agree: no code is listed after the work, and the technician said that one is stored. Read the codes again before the car leaves.
hand-over-codes-after-but-none = These do not agree: codes after the work are listed, and the technician said that none is stored. Read the codes again before the car leaves.

hand-over-means = What it means, and what it does not
hand-over-inside-means = Inside means: inside the limits that were entered for this car, with the uncertainties that were entered, at the moment it was measured.
hand-over-clock = Nothing vouched for the clock: the times may be wrong.
hand-over-sign-workshop = Date, signature of the workshop
hand-over-sign-owner = Date, signature of the person taking the car
hand-over-footer = The full report of each job stands behind this page. Order, plate and VIN are personal data. To find a job: companion review show SESSION. Its code is the beginning of its head hash; companion verify checks the record against it.
