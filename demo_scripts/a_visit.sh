#!/usr/bin/env bash
# One visit of a car with two sensors: front radar, then forward camera, typed by a simulated
# technician and then once more spoken and heard. The second job takes over what still holds, and
# what is the car's (codes after, switching off, road test) is asked once, at the second.
# Ends with one hand-over page and two reports for each. Leaves everything in out/a_visit/.
set -euo pipefail
cd "$(dirname "$0")/.."
demo_scripts/set_up.sh run
out=out/a_visit
rm -rf "$out"
mkdir -p "$out"
started=$SECONDS
# The shipped jobs, but one code is stored before: both the office and the technician tell it.
jobs="$out/jobs"
mkdir "$jobs"
cp companion/job/examples/{front_radar,forward_camera}*.yaml "$jobs"
sed -i 's/faults_before: no_faults/faults_before: aim_fault_only/' "$jobs"/*.rehearsal.yaml
seed=${SEED:-3}
c=.venv/bin/companion

asked() { grep -c '^  hears' "$1"; }

for way in ${WAYS:-typed spoken}; do
    record="$out/$way.sqlite"
    "$c" visit new --record "$record" --order 4711 --plate "EX 123" --odometer-km 48210 \
        --complaint "Distance keeping warns too late" --sensors front_radar,forward_camera
    "$c" visit codes last --record "$record" --before "not aimed" --none-after
    for job in front_radar forward_camera; do
        echo
        echo "$way: $job"
        "$c" rehearse --"$way" --seed "$seed" --job "$jobs/$job.yaml" --record "$record" \
            --visit last --report "$out/$way-$job.html" | tee "$out/$way-$job.txt"
    done
    "$c" report --hand-over --record "$record" --out "$out/$way-hand-over.html"
    # Each job on its own, to compare.
    for job in front_radar forward_camera; do
        "$c" rehearse --"$way" --seed "$seed" --job "$jobs/$job.yaml" >"$out/$way-$job-alone.txt"
    done
    "$c" verify --record "$record"
    first=$(asked "$out/$way-front_radar.txt")
    second=$(asked "$out/$way-forward_camera.txt")
    first_alone=$(asked "$out/$way-front_radar-alone.txt")
    second_alone=$(asked "$out/$way-forward_camera-alone.txt")
    whole=$((first + second))
    added=$((whole - first_alone))
    echo "$way: the first sensor was answered $first times in the visit ($first_alone alone), the" \
        "second $second times ($second_alone alone; $((100 * second / second_alone)) %)."
    echo "$way: the second sensor adds $added answers, $((100 * added / second_alone)) % of what it" \
        "asks alone. Both take $((100 * whole / first_alone)) % of the first alone."
done
echo
for way in ${WAYS:-typed spoken}; do
    echo "Hand-over:  $out/$way-hand-over.html"
    echo "Reports:    $out/$way-front_radar.html $out/$way-forward_camera.html"
done
echo "Took $((SECONDS - started)) s"
