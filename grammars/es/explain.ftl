# De dónde viene un resultado: `companion explain`. Not checked by a native speaker.

explain-formula = Fórmula: { $name }, evento { $event }
explain-formula-text = fórmula: { $text }
explain-source = fuente: { $source }
explain-inputs = Entradas:
explain-input = { $name } = { $value }: { $from }
explain-with-uncertainty = { $value } (u { $uncertainty })
explain-negative-of = el negativo de { $what }
explain-the-reading = la lectura { $name } ({ $title }), «{ $spoken }», evento { $event }
explain-the-result = el resultado { $name }, calculado por { $formula }, evento { $event }
explain-the-vehicle-file = { $name }, como dice el fichero del vehículo
explain-the-job-file = { $name }, como dice el fichero del trabajo
explain-the-mount-file = { $name }, como dice el fichero del montaje
explain-the-bay-file = { $name }, como dice el fichero del puesto
explain-a-figure-of-the-job = una cifra del fichero del trabajo
explain-exact = Incertidumbre de { $name }: ninguna, sus entradas son exactas
explain-made-of-which = De qué se compone la incertidumbre de { $name } (tanto por ciento de su varianza):
explain-made-of = de qué se compone la incertidumbre:
explain-part = { $name } ({ $what })
explain-part-of-reading = { $name } ({ $title }: { $what })
explain-rounding = redondeo, el mismo siempre que vuelven estas cifras
explain-scale = lo mismo en cada lectura
explain-unknown-scatter = no se dice si se dispersa, así que no se promedia
explain-entered-for = la incertidumbre introducida para { $input } en { $step }
explain-said-back = { $value }: repetido como «{ $spoken }» y confirmado, evento { $event }
explain-takes = lectura número { $take }, intentos de escucha { $attempts }
explain-used-in = usado en: { $steps }
explain-no-formula = ninguna fórmula
explain-no-longer = Ya no cuenta desde el evento { $event }: { $why }
explain-answered = respondido { $choice }, evento { $event }
explain-at-event = { $what }, evento { $event }
explain-decision = Decisión: { $title } ({ $step }), evento { $event }
explain-limits = límites: { $limits }
explain-value-alone = basta con que el valor esté dentro
explain-level = dentro solo con al menos { $level }
explain-chance = probabilidad de estar dentro: { $chance }; { $rule }
explain-answer = respuesta: { $answer } (vez { $times })
explain-first-look = primera mirada a { $levels } niveles: puede mandar girar los tornillos, y nada llama dentro
explain-short-set = serie corta de { $levels } niveles, con los anchos del haz de la serie entera antes del giro
explain-look = evaluación { $look } de { $most } como máximo en esta posición de los tornillos
explain-risk-spent = riesgo gastado con ella: { $risk }
explain-scatter = las lecturas se dispersan { $ratio } veces lo introducido
explain-confirmed = y confirmado
explain-not-confirmed = aún sin confirmar
explain-aim-answer = respuesta: { $answer }, { $confirmed }, después de { $rounds ->
        [one] { $rounds } ronda
       *[other] { $rounds } rondas
    } en los tornillos y { $sets ->
        [one] { $sets } serie
       *[other] { $sets } series
    }
explain-taken-over = tomado de antes: { $name }, { $source }
