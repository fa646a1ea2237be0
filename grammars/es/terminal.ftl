# Lo que escriben `companion review list`, `search`, `drift` y `companion rehearse`.
# Not checked by a native speaker.

column-added = Añadido
list-from-to = de { $first } a { $last }
list-from-to-of = de { $first } a { $last } de { $total }
list-continue = { $told }; continúa con --page { $page }
list-signatures = { $count } { $count ->
        [one] firma
       *[other] firmas
    }
list-no-job-yet = El registro todavía no tiene ningún trabajo. Haz uno con: companion start
list-no-such-result = Ningún trabajo terminó como «{ $result }»; los de aquí terminaron como: { $results }.
list-nothing-fits = Ningún trabajo cumple todo eso. Quita una opción para ver más.

search-no-word = No se dio ninguna palabra que buscar.
search-more = Hay más trabajos con eso; --limit muestra más de { $limit }.

shown-head = hash final { $hash }, { $events } eventos

bay-not-named = un puesto sin nombre
drift-nothing-measured = No se midió nada que debiera seguir igual.
drift-cell-changed = cambió: { $changes }
drift-cell-change = { $what } el { $day }
drift-latest-job = El último trabajo en { $bay }: { $what } ha cambiado probablemente, desde { $since }.

rehearsal-begins = Ensayo { $seed }, sesión { $session }. { $about }
rehearsal-truth = Verdad oculta del puesto: lateral { $yaw }, en altura { $elevation }.
rehearsal-truth-inside = Está dentro de la tolerancia, después de { $rounds ->
        [one] { $rounds } ronda
       *[other] { $rounds } rondas
    } en los tornillos.
rehearsal-truth-outside = Está FUERA de la tolerancia, después de { $rounds ->
        [one] { $rounds } ronda
       *[other] { $rounds } rondas
    } en los tornillos.
rehearsal-heard = De { $answers } respuestas se oyeron bien { $right }, como otra cosa { $wrong }, y se rechazaron { $refused }.
rehearsal-slip = Error cometido: { $slip }
rehearsal-slip-read = Error cometido: { $slip }, { $read } en lugar de { $right }
rehearsal-report = Informe: { $file }
slip-kind-swaps_digits = dos cifras cambiadas de lugar
slip-kind-off_by_ten = diez de diferencia
slip-kind-off_by_one = uno de diferencia
slip-kind-reads_other_side = leído en el otro lado
slip-kind-mixes_up_direction = dirección confundida
slip-kind-moves_wrong_way = movido en la dirección equivocada
slip-kind-wrong_amount = cantidad equivocada
slip-kind-screw_wrong_way = tornillo girado en el sentido equivocado
slip-kind-other_screw = se giró otro tornillo
slip-kind-late = respondió tarde
slip-kind-says_it_twice = lo dijo dos veces
slip-kind-out_of_grammar = dijo otra cosa
slip-kind-silent = no dijo nada
slip-kind-says_wait = dijo espera
slip-kind-says_repeat = pidió que se repitiera
slip-kind-says_go_back = volvió atrás
slip-kind-asks_where = preguntó dónde estamos
slip-kind-confirms_wrong = confirmó algo equivocado
slip-kind-overlooks_in_group = pasó por alto una equivocada entre varias

# La práctica.
practise-begins = Práctica en un puesto simulado; no queda en ningún registro. { $about }
practise-how = Lee los instrumentos que se muestran y responde. Di que has hecho lo que se te pide: queda hecho.
practise-hands = Para equivocarte en un movimiento, escribe antes de decir que está hecho *2 (el doble), *-1 (al revés) o *0 (nada).
practise-stage = Solo la etapa { $number } de { $of }, { $title }: lo anterior lo hace el técnico simulado.
practise-will-do = tus manos: { $times } veces lo que se pide
practise-nothing-to-do = ahora no hay nada que mover; cuando lo haya, escribe * y cuántas veces
practise-nothing-asked = En esta etapa no se pregunta nada, o no en este puesto. Las demás etapas: companion files.
practise-went-back = El trabajo vuelve a la etapa { $number }, { $title }. La práctica de una sola etapa termina ahí; para todas: companion practise
practise-over = Fin de la práctica.
practise-answers = { $answers } { $answers ->
        [one] respuesta
       *[other] respuestas
    } en { $minutes } minutos; el acompañante habló { $spoken } de ellos.
practise-heard-all = Se entendieron todas las respuestas.
practise-not-understood = No se entendió: { $words }
practise-word = «{ $words }», { $times } { $times ->
        [one] vez
       *[other] veces
    }
practise-no-words = Se oyó algo que no era una respuesta, { $times } { $times ->
        [one] vez
       *[other] veces
    }.
practise-silences = No se oyó nada { $times } { $times ->
        [one] vez
       *[other] veces
    }.
practise-read-right = Cada lectura que contó era la que se mostraba.
practise-read-wrong = Confirmada mal: { $title }, { $taken } en lugar de { $shown }
practise-did-otherwise = Hecho { $times } veces lo pedido: { $what }
practise-screw = { $screw }, { $turns } { $sense }
practise-shim = un calce de { $amount }
practise-place = un sitio por las lecturas { $figures }
practise-then = Otra vez en otro puesto: companion practise --seed { $seed }
