/* What the library's public functions do not reach: the scores of the sounds of an utterance, written
 * down while it is decoded, so that another grammar can be searched in them. Scoring is most of
 * the work. */

#include <stdio.h>

#include "pocketsphinx_internal.h"
#include "util/ckd_alloc.h"

/* From the start of an utterance on into a file, which is closed by giving none. */
int readback_keep_scores(ps_decoder_t *decoder, FILE *file)
{
    return acmod_set_senfh(decoder->acmod, file);
}

/* Searches them with the grammar that is active. Gives the frames, or less than 0. */
int readback_search_scores(ps_decoder_t *decoder, FILE *file)
{
    acmod_t *acmod = decoder->acmod;

    /* For a long utterance the library makes room for its frames, but not for where each stands in
     * the file. */
    acmod->framepos = ckd_realloc(acmod->framepos,
                                  acmod->n_feat_alloc * sizeof(*acmod->framepos));
    return ps_decode_senscr(decoder, file);
}
