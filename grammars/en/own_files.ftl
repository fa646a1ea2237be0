# What `companion vehicle`, `bay`, `stand` and `mount` ask and show: the shop's own files.

# The pictures. The numbers in them are those of the questions.
picture-vehicle =
    from the left                                      from above (ahead is right)

              __________                                 +----------------------+
        _____/          \_____                       ^   | o                  o |
       |        6a        6b   |= sensor             2r  | |        ^         | |= sensor
       |__ (o) __________ (o) _|   ^                 |   |           5 (left) | |
           |               |       4 height          v   | o                  o |
           |<------1------>|<--3-->|                     +----------------------+
         rear axle     front axle                          rear (2r)   front (2f)

       1 wheelbase   2f, 2r track, front and rear: between the middles of the tyres   3 sensor ahead
       of the front axle   4 its height above the plane of the wheels   5 left of the car's middle
       6a, 6b ride height: from the centre of the wheel up to the arch, rear and front
picture-bay =
    from above (the car looks to the right)

         o----------------o                  |  plate
         |      car       |=  sensor  <--1-->|  2 wide      5 laser of the clamp ......> mirror bar
         o----------------o                  |  3 high      6 the arms' scales above the floor
           wheels' spots                   stand spot
       floor: a + slope rises towards the stand, a + side slope has the car's left side high
picture-stand =
    from above (the car looks to the right)

         o----------------o                  |  plate
         |      car       |=  sensor  <--1-->|  2 wide      5 laser of the clamp ......> mirror bar
         o----------------o                  |  3 high      6 the arms' scales above the floor
           wheels' spots                   stand spot
picture-mount =
    from the front of the car, facing the sensor (the car's left is on your right)

                (o) upper            z up
                 |  z                 ^
         pivot  (+)----- y --(o) left |
                                      +--> y to the car's left

       clockwise is as you face the head of the screw

# Making a file.
files-lengths = Lengths in mm; cm, m and in are accepted if written after the number.
files-called = What is it called in reports
files-has-it = Does it have { $part }?
files-three-screws = Three screws and no pivot?
files-screw = screw { $place }
files-insist = { $problem } (if it is right all the same, put { $sign } after it)
files-kept = { $problem }
    What was entered is kept in { $file }: put it right there.
files-use = To use it: companion start --{ $kind } { $name }
files-use-stand = To use it: write "stand: { $name }" in a bay file.
files-which-stand = Which stand ({ $names }; empty: asked here)
files-which-mount = Which mount has its radar ({ $names }; empty: none of these)
files-made-by = Made by 'companion { $kind } new'. Figures as entered by the shop.
files-there = { $file } is there already; choose another name, or give --force.
files-two-figures-word = to
files-one-of = { LIST($choices, last: "or") }
files-left-words = left
files-right-words = right
part-name-aim = a forward radar to be aimed
part-name-camera = a forward camera
part-name-corner = rear corner radars
part-name-mats = surround cameras that are calibrated with mats

# Showing, checking and copying one.
files-not-readable = not readable: companion { $kind } check { $name }
files-example = EXAMPLE
files-example-figures = EXAMPLE: these figures are not a maker's values.
files-nothing-wrong = { $file }: { $name }, nothing found that could not be right.
files-no-such-question = usual_answers: no job that ships proposes an answer to '{ $question }', only to { LIST($known) }. It is used only by a job of your own.
files-asked-in-full = nothing, it is always asked in full
files-is-example = It is an EXAMPLE: a report made with it says so at the top.
files-still-example = It is still marked as an example: enter your own figures, then 'example: false' and a name of its own, and check it with: companion { $kind } check { $name }
files-from-to = { $low } to { $high }

# What a figure is in.
file-unit-none = no unit
file-unit-mm = mm
file-unit-mm_per_m = mm/m
file-unit-deg = degrees
file-unit-turns = turns
file-unit-ghz = GHz
slip-unit-centimetres = centimetres
slip-unit-metres = metres
slip-unit-inches = inches
file-choice-body = body
file-choice-ground = ground
file-choice-clockwise = clockwise
file-choice-anticlockwise = anticlockwise
file-choice-right = right
file-choice-left = left
file-choice-echo_levels = echo levels
file-choice-each_time = asked each time

# What a figure can hardly be.
slip-range = found { $found }; wanted: { $low } to { $high } { $unit }
slip-range-in = { $slip }; is it in { $unit }?
slip-range-tenth = { $slip }; is it { $figure }?
slip-tracks = found { $found } beside a front track of { $front }; wanted: two that are nearly alike
slip-beside = found { $found }, which is beside the car; wanted: less than half its track of { $front }
slip-behind = found { $found }, which is behind the car; wanted: from the front axle to the sensor, positive ahead
slip-side-left = found { $found } for the { $screw }; wanted: above 0, as y grows to the car's left
slip-side-right = found { $found } for the { $screw }; wanted: below 0, as y grows to the car's left

# The questions.
ask-vehicle-wheelbase_mm = Wheelbase
ask-vehicle-front_track_mm = Front track
ask-vehicle-rear_track_mm = Rear track
ask-vehicle-sensor_ahead_of_front_axle_mm = Sensor ahead of the front axle
ask-vehicle-sensor_left_of_centre_mm = Sensor left of the middle
ask-vehicle-sensor_height_mm = Height of the sensor
ask-vehicle-ride_height_front_mm = Front ride height, lowest and highest
ask-vehicle-ride_height_rear_mm = Rear ride height, lowest and highest
ask-vehicle-aim-yaw_tolerance_deg = Aim: tolerance sideways
ask-vehicle-aim-elevation_tolerance_deg = Aim: tolerance in height
ask-vehicle-aim-elevation_reference = Aim: is height measured against the body or the ground
ask-vehicle-aim-beam_width_yaw_deg = Beam width sideways
ask-vehicle-aim-beam_width_elevation_deg = Beam width in height
ask-vehicle-aim-beam_width_agreement = How far a measured beam width may differ, as a fraction of it
ask-vehicle-aim-frequency_ghz = Frequency of the radar
ask-vehicle-usual_answers-aim_route = How the aim is read
ask-vehicle-camera-ahead_of_front_axle_mm = Camera ahead of the front axle
ask-vehicle-camera-height_mm = Height of the camera
ask-vehicle-camera-board_ahead_of_front_axle_mm = Board ahead of the front axle
ask-vehicle-camera-board_height_mm = Height of the middle of the board
ask-vehicle-camera-sideways_tolerance_mm = Board: tolerance sideways
ask-vehicle-camera-distance_tolerance_mm = Board: tolerance in distance
ask-vehicle-camera-height_tolerance_mm = Board: tolerance in height
ask-vehicle-camera-turn_tolerance_deg = Board: tolerance in turn
ask-vehicle-camera-level_tolerance_mm_per_m = Board: tolerance in level
ask-vehicle-camera-yaw_limit_deg = Camera: limit sideways
ask-vehicle-camera-elevation_limit_deg = Camera: limit in height
ask-vehicle-corner-behind_rear_axle_mm = Corner radar behind the rear axle
ask-vehicle-corner-out_of_centre_mm = Corner radar out from the middle of the car
ask-vehicle-corner-reflector_radius_mm = Reflector from the middle of the rear axle
ask-vehicle-corner-reflector_angle_deg = Reflector outwards from straight back
ask-vehicle-corner-reflector_height_mm = Height of the reflector
ask-vehicle-corner-place_tolerance_mm = Reflector: tolerance in place
ask-vehicle-corner-height_tolerance_mm = Reflector: tolerance in height
ask-vehicle-corner-facing_tolerance_deg = Reflector: tolerance in the way it faces
ask-vehicle-corner-angle_limit_deg = Corner radar: limit to either side
ask-vehicle-mats-front_mm = Front mat ahead of the front axle
ask-vehicle-mats-rear_mm = Rear mat behind the rear axle
ask-vehicle-mats-distance_tolerance_mm = Mats: tolerance in distance
ask-vehicle-mats-sideways_tolerance_mm = Mats: tolerance sideways
ask-vehicle-mats-turn_tolerance_deg = Mats: tolerance in turn
ask-vehicle-mats-skew_tolerance_deg = Mats: tolerance of the skew of the field
ask-bay-shop = Name of the shop
ask-bay-floor-slope_up_deg = Slope of the floor, + rises towards the stand
ask-bay-floor-side_slope_deg = Side slope of the floor, + left side high
ask-bay-floor-twist_mm = Twist of the floor
ask-bay-floor-stand_spot_above_mm = Stand spot above the plane of the wheels
ask-bay-floor-line_laser_doubt_deg = Uncertainty of the line laser's level
ask-bay-stand-plate_distance_mm = Plate to sensor
ask-bay-stand-distance_tolerance_mm = Tolerance of that distance
ask-bay-stand-sideways_tolerance_mm = Stand: tolerance sideways
ask-bay-stand-height_tolerance_mm = Plate: tolerance in height
ask-bay-stand-turn_tolerance_deg = Stand: tolerance in turn
ask-bay-stand-level_tolerance_mm_per_m = Stand: tolerance in level
ask-bay-stand-plumb_tolerance_mm_per_m = Plate: tolerance in plumb
ask-bay-stand-beam_agreement_deg = How far the two beams may disagree with the toe
ask-bay-stand-arm_height_mm = Scales of the arms above the floor
ask-bay-stand-plate_width_mm = Width of the plate
ask-bay-stand-plate_height_mm = Height of the plate itself
ask-bay-stand-plate_flatness_mm = Flatness of the plate, plus or minus
ask-bay-stand-plate_to_bar_doubt_deg = Uncertainty of the plate being parallel to the mirror bar
ask-bay-stand-head_doubt_deg = Uncertainty of a laser being square to its clamp
ask-bay-stand-detent_doubt_deg = Uncertainty of a detent of the plate
ask-bay-stand-lean_towards_deg = Detent of the plate, leaned towards the car
ask-bay-stand-lean_towards_near_deg = Detent of the plate, half towards the car
ask-bay-stand-lean_away_deg = Detent of the plate, leaned away
ask-bay-stand-lean_away_near_deg = Detent of the plate, half away
ask-bay-stand-swing_left_deg = Detent of the plate, swung left
ask-bay-stand-swing_left_near_deg = Detent of the plate, half left
ask-bay-stand-swing_right_deg = Detent of the plate, swung right
ask-bay-stand-swing_right_near_deg = Detent of the plate, half right
ask-bay-stand-largest_run_out_deg = Largest run-out of a clamp
ask-bay-stand-run_out_residual_mm = How far four run-out readings may disagree
ask-mount-approach = Last movement of every screw goes
ask-mount-lock_doubt_turns = How far a screw may turn while it is locked
ask-screw-name = What it is called, as spoken
ask-screw-y_mm = From the pivot to the car's left
ask-screw-z_mm = From the pivot up
ask-screw-pitch_mm = Pitch of the thread
ask-screw-hand = Thread
ask-screw-travel_clockwise_turns = Turns of travel clockwise from here
ask-screw-travel_anticlockwise_turns = Turns of travel anticlockwise from here
ask-screw-backlash_turns = Backlash
where-1 = 1 in the picture
where-2 = 2 in the picture
where-2f = 2f, between the middles of the tyres
where-2r = 2r, between the middles of the tyres
where-3 = 3; behind it: below 0
where-just-3 = 3 in the picture
where-4 = 4, above the plane of the wheels
where-5 = 5; to the right: below 0
where-6 = 6 in the picture
where-6a = 6a, two figures
where-6b = 6b, two figures
where-makers = the maker's figure
where-makers-procedure = as the maker's procedure says
where-half-power = one way, half power
where-behind = behind it: below 0
where-over-wheels = above the plane of the wheels
where-survey = two figures: lowest and highest that the survey allows
where-doubt = standard uncertainty
where-screw-name = such as: left screw
where-right-below = to the right: below 0
where-down-below = down: below 0
where-one-turn = how far one turn moves it
