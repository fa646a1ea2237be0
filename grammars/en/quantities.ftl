# What results are called, wherever they are shown: in the report, on the pages, in the terminal.

# By the result's name: its title, and the way that a positive and a negative value points.
quantity-floor_slope_up_deg = Floor slope along the car
positive-floor_slope_up_deg = rising forwards
negative-floor_slope_up_deg = falling forwards
quantity-floor_side_slope_deg = Floor slope across
positive-floor_side_slope_deg = left side high
negative-floor_side_slope_deg = right side high
quantity-floor_twist_mm = Floor twist
quantity-stand_spot_above_mm = Stand spot and wheel plane
positive-stand_spot_above_mm = above
negative-stand_spot_above_mm = below
quantity-run_out_deg = Clamp run-out
quantity-run_out_heading_deg = Heading error by run-out
positive-run_out_heading_deg = left
negative-run_out_heading_deg = right
quantity-run_out_residual_mm = Run-out left over
quantity-thrust_direction_deg = Thrust direction
positive-thrust_direction_deg = left
negative-thrust_direction_deg = right
quantity-thrust_direction_mm = Thrust direction across the diameter
positive-thrust_direction_mm = left
negative-thrust_direction_mm = right
quantity-toe_left_as_deg = Rear left toe as an angle
positive-toe_left_as_deg = in
negative-toe_left_as_deg = out
quantity-toe_right_as_deg = Rear right toe as an angle
positive-toe_right_as_deg = in
negative-toe_right_as_deg = out
quantity-body_nose_up_deg = Body's nose
positive-body_nose_up_deg = up
negative-body_nose_up_deg = down
quantity-body_left_high_deg = Body's lean
positive-body_left_high_deg = left side high
negative-body_left_high_deg = right side high
quantity-body_twist_mm = Body's twist
quantity-total_toe_deg = Total rear toe
positive-total_toe_deg = in
negative-total_toe_deg = out
quantity-stand_turn_deg = Stand turned
positive-stand_turn_deg = anticlockwise
negative-stand_turn_deg = clockwise
quantity-beam_disagreement_deg = Disagreement of the two beams
quantity-stand_offset_left_mm = Stand sideways
positive-stand_offset_left_mm = left
negative-stand_offset_left_mm = right
quantity-distance_error_mm = Plate distance
positive-distance_error_mm = too far away
negative-distance_error_mm = too close
quantity-height_error_mm = Plate height
positive-height_error_mm = too high
negative-height_error_mm = too low
quantity-plate_level_deg = Plate level
positive-plate_level_deg = left end high
negative-plate_level_deg = right end high
quantity-level_mm_per_m = Level across
positive-level_mm_per_m = left end high
negative-level_mm_per_m = right end high
quantity-plumb_mm_per_m = Plumb
positive-plumb_mm_per_m = top away
negative-plumb_mm_per_m = top towards the car
quantity-plate_plumb_deg = Plate plumb
positive-plate_plumb_deg = top away
negative-plate_plumb_deg = top towards the car
quantity-vertex_deg = Strongest echo at
quantity-lean_vertex_deg = Strongest echo at
positive-lean_vertex_deg = top towards the car
negative-lean_vertex_deg = top away from the car
quantity-swing_vertex_deg = Strongest echo at
positive-swing_vertex_deg = left edge towards the car
negative-swing_vertex_deg = right edge towards the car
quantity-beam_width_deg = Beam width seen
quantity-peak_db = Echo at its strongest
quantity-flatness_doubt_deg = Uncertainty from the plate's flatness
quantity-edge_doubt_deg = Uncertainty from the plate's edges
quantity-aim_yaw_deg = Aim sideways
positive-aim_yaw_deg = left
negative-aim_yaw_deg = right
quantity-aim_elevation_deg = Aim up or down
positive-aim_elevation_deg = up
negative-aim_elevation_deg = down

# A result that is had in several places: "left_run_out_deg". $place: where
title-at = { $title }, { $place }
title-unknown = Result
where-left = left
where-right = right
where-front = front
where-rear = rear
where-lean = up and down
where-swing = sideways
where-second = second

not-recorded = not recorded
yes = yes
no = no
none = none

# Limits. $low, $high: amounts with their units and directions
limits-within = within { $high }
limits-at-most = at most { $high }
limits-at-least = at least { $low }
limits-from-to = from { $low } to { $high }

# A probability is never told as certain.
percent = { $percent } %
percent-over = over { $percent } %
percent-under = under { $percent } %

answer-inside = inside
answer-outside = outside
answer-too_close = too close to call

not-turned = not turned
turned = { $turns } { DIRECTION($way) }

# How a job ended, in one or two words. A job file may name others.
ending-inside = inside
ending-tool_inside = inside, says the scan tool
ending-not_aimed = done, nothing aimed
ending-outside = outside
ending-not_settled = not settled
ending-stopped = stopped
ending-broken_off = broken off

# Why nothing was taken of what was heard. "overrun": as older records call either of them.
refused-not_in_grammar = that is no answer here
refused-unsure = not sure enough
refused-too_loud = too loud
refused-too_quiet = too quiet
refused-clipped = too loud for the microphone
refused-too_long = that went on too long
refused-sound_lost = sound was lost
refused-no_microphone = the microphone is gone
refused-overrun = too long, or sound was lost
quantity-turn_seen_deg = Turn seen
positive-turn_seen_deg = to the left
negative-turn_seen_deg = to the right
quantity-known_turn_deg = Known turn
positive-known_turn_deg = to the left
negative-known_turn_deg = to the right
quantity-turn_error_deg = Error of the known turn
positive-turn_error_deg = too far left
negative-turn_error_deg = too far right
quantity-sides_disagree_deg = Disagreement of the two sides
quantity-heads_changed_deg = Difference of the two sides
quantity-heads_out_left_deg = Laser heads out of square
positive-heads_out_left_deg = left
negative-heads_out_left_deg = right
