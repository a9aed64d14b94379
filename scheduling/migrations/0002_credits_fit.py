"""The database holds credits within the time they belong to.

A sum over rows cannot be a check constraint, so triggers look at the end of each transaction.
"""

from django.db import migrations

FORWARD = """
CREATE FUNCTION scheduling_credits_fit_block() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    the_block bigint;
BEGIN
    IF TG_TABLE_NAME = 'scheduling_block' THEN the_block := NEW.id; ELSE the_block := NEW.block_id; END IF;
    IF (SELECT sum(minutes) FROM scheduling_blockcredit WHERE block_id = the_block)
        > (SELECT "end" - start FROM scheduling_block WHERE id = the_block)
    THEN
        RAISE EXCEPTION 'A block credits more minutes than it lasts.'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'credits_fit_block';
    END IF;
    RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER credits_fit_block AFTER INSERT OR UPDATE ON scheduling_blockcredit
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION scheduling_credits_fit_block();
CREATE CONSTRAINT TRIGGER block_holds_credits AFTER UPDATE OF start, "end" ON scheduling_block
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION scheduling_credits_fit_block();

CREATE FUNCTION scheduling_credits_fit_change() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    the_change bigint;
BEGIN
    IF TG_TABLE_NAME = 'scheduling_daychange' THEN
        the_change := NEW.id;
    ELSE
        the_change := NEW.day_change_id;
    END IF;
    IF (SELECT sum(minutes) FROM scheduling_daychangecredit WHERE day_change_id = the_change)
        > (SELECT CASE WHEN closed THEN 0 ELSE "end" - start END
           FROM scheduling_daychange WHERE id = the_change)
    THEN
        RAISE EXCEPTION 'A day change credits more minutes than it takes.'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'credits_fit_change';
    END IF;
    RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER credits_fit_change AFTER INSERT OR UPDATE ON scheduling_daychangecredit
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION scheduling_credits_fit_change();
CREATE CONSTRAINT TRIGGER change_holds_credits AFTER UPDATE OF start, "end", closed ON scheduling_daychange
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION scheduling_credits_fit_change();
"""

BACKWARD = """
DROP TRIGGER credits_fit_block ON scheduling_blockcredit;
DROP TRIGGER block_holds_credits ON scheduling_block;
DROP TRIGGER credits_fit_change ON scheduling_daychangecredit;
DROP TRIGGER change_holds_credits ON scheduling_daychange;
DROP FUNCTION scheduling_credits_fit_block();
DROP FUNCTION scheduling_credits_fit_change();
"""


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0001_initial")]
    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
